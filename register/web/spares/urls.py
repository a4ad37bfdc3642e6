from django.urls import path

from register.web.spares import views

app_name = "spares"
urlpatterns = [
    path("", views.listing, name="list"),
    path("list.pdf", views.pdf, name="pdf"),
]

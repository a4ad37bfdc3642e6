from django.urls import path

from register.web.findings import views

app_name = "findings"
urlpatterns = [
    path("", views.listing, name="list"),
    path("check/", views.check, name="check"),
    path("<int:pk>/concede/", views.concede, name="concede"),
]

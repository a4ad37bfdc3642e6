from django.urls import path

from register.web.findings import views

app_name = "findings"
urlpatterns = [
    path("", views.listing, name="list"),
    path("list.xlsx", views.xlsx, name="xlsx"),
    path("check/", views.check, name="check"),
    path("<int:pk>/concede/", views.concede, name="concede"),
]

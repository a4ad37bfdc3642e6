from django.urls import path

from register.web.exchange import views

app_name = "exchange"
urlpatterns = [
    path("", views.upload, name="upload"),
    path("register.xlsx", views.register, name="register"),
    path("blank.xlsx", views.blank, name="blank"),
]

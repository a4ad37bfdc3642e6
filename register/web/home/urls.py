from django.urls import path

from register.web.home import views

urlpatterns = [
    path("", views.home, name="home"),
]

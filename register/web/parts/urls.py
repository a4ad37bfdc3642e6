from django.urls import path

from register.web.parts import views

urlpatterns = [
    path("", views.parts, name="parts"),
]

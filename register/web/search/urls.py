from django.urls import path

from register.web.search import views

urlpatterns = [
    path("", views.search, name="search"),
]

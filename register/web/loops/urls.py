from django.urls import path

from register.web.loops import views

app_name = "loops"
urlpatterns = [
    path("", views.listing, name="list"),
    path("new/", views.create, name="create"),
    path("<str:number>/", views.detail, name="detail"),
    path("<str:number>/change/", views.edit, name="edit"),
    path("<str:number>/retire/", views.retire, name="retire"),
]

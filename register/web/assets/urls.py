from django.urls import path

from register.web.assets import views

app_name = "assets"
urlpatterns = [
    path("", views.listing, name="list"),
    path("new/", views.create, name="create"),
    path("<str:code>/", views.detail, name="detail"),
    path("<str:code>/correct/", views.edit, name="edit"),
]

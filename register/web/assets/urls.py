from django.urls import path

from register.web.assets import views

app_name = "assets"
urlpatterns = [
    path("", views.listing, name="list"),
    path("<str:code>/", views.detail, name="detail"),
]

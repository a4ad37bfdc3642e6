from django.urls import path

from register.web.completeness import views

app_name = "completeness"
urlpatterns = [
    path("", views.listing, name="list"),
    path("<str:slug>/", views.detail, name="detail"),
]

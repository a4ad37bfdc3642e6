from django.urls import path

from register.web.drawings import views

app_name = "drawings"
urlpatterns = [
    path("", views.listing, name="list"),
    path("<int:pk>/", views.detail, name="detail"),
]

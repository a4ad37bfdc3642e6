from django.urls import path

from register.web.catalogue import views

app_name = "catalogue"
urlpatterns = [
    path("", views.listing, name="list"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/correct/", views.edit, name="edit"),
]

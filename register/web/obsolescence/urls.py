from django.urls import path

from register.web.obsolescence import views

app_name = "obsolescence"
urlpatterns = [
    path("", views.listing, name="list"),
    path("<int:pk>/", views.detail, name="detail"),
]

from django.urls import path

from register.web.reach import views

app_name = "reach"
urlpatterns = [
    path("", views.what_stops, name="what_stops"),
]

from django.urls import path

from register.web.history import views

app_name = "history"
urlpatterns = [
    path("", views.listing, name="list"),
    path("compare/", views.compare, name="compare"),
    path("on/", views.on, name="on"),
    path("<int:revision>/", views.detail, name="detail"),
]

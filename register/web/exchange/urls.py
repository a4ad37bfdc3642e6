from django.urls import path

from register.web.exchange import views

app_name = "exchange"
urlpatterns = [
    path("", views.upload, name="upload"),
    path("register.xlsx", views.register, name="register"),
    path("blank.xlsx", views.blank, name="blank"),
    path("runs/", views.listing, name="list"),
    path("runs/<int:pk>/", views.run, name="run"),
    path("runs/<int:pk>/cancel/", views.cancel, name="cancel"),
    path("runs/<int:pk>/undo/", views.undo, name="undo"),
]

from django.urls import path

from register.web.offline import views

app_name = "offline"
urlpatterns = [
    path("service-worker.js", views.worker, name="worker"),
    path("offline/", views.page, name="page"),
    path("offline/swap/", views.swap, name="swap"),
    path("offline/area/<int:pk>.json", views.area, name="area"),
]

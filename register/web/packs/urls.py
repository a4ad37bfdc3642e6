from django.urls import path

from register.web.packs import views

app_name = "packs"
urlpatterns = [
    path("", views.listing, name="list"),
    path("new/", views.ask, name="ask"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/cancel/", views.stop, name="cancel"),
    path("<int:pk>/download", views.download, name="download"),
]

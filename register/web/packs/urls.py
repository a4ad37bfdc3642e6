from django.urls import path

from register.web.packs import views

app_name = "packs"
urlpatterns = [
    path("", views.listing, name="list"),
    path("new/", views.ask, name="ask"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/cancel/", views.stop, name="cancel"),
    path("<int:pk>/delete-file/", views.delete, name="delete_file"),
    path("<int:pk>/download", views.download, name="download"),
]

from django.urls import path

from register.web.catalogue import views

app_name = "catalogue"
urlpatterns = [
    path("", views.listing, name="list"),
    path("new/", views.create, name="create"),
    path("families/", views.families, name="families"),
    path("families/new/", views.family, name="family_create"),
    path("families/<int:pk>/", views.family, name="family"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/correct/", views.edit, name="edit"),
    path("<int:pk>/ports/new/", views.port, name="port_create"),
    path("<int:pk>/ports/<int:port>/", views.port, name="port"),
    path("<int:pk>/ports/<int:port>/remove/", views.port_remove, name="port_remove"),
    path("<int:pk>/bays/new/", views.bay, name="bay_create"),
    path("<int:pk>/bays/<int:bay>/", views.bay, name="bay"),
    path("<int:pk>/bays/<int:bay>/remove/", views.bay_remove, name="bay_remove"),
]

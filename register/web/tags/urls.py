from django.urls import path

from register.web.tags import views

app_name = "tags"
urlpatterns = [
    path("", views.listing, name="list"),
    path("new-in/<str:number>/", views.create, name="create"),
    path("<str:name>/", views.detail, name="detail"),
    path("<str:name>/change/", views.edit, name="edit"),
    path("<str:name>/retire/", views.retire, name="retire"),
    path("<str:name>/settings/<str:kind>/", views.settings, name="settings"),
    path("<str:name>/ports/new/", views.port, name="port_create"),
    path("<str:name>/ports/<int:pk>/", views.port, name="port"),
    path("<str:name>/ports/<int:pk>/remove/", views.port_remove, name="port_remove"),
    path("<str:name>/alarms/new/", views.alarm, name="alarm_create"),
    path("<str:name>/alarms/<int:pk>/", views.alarm, name="alarm"),
    path("<str:name>/alarms/<int:pk>/remove/", views.alarm_remove, name="alarm_remove"),
    path("<str:name>/links/new/", views.link, name="link_create"),
    path("<str:name>/links/<int:pk>/", views.link, name="link"),
    path("<str:name>/links/<int:pk>/cores/", views.link_cores, name="link_cores"),
    path("<str:name>/links/<int:pk>/remove/", views.link_remove, name="link_remove"),
    path("<str:name>/install/", views.install, name="install"),
    path("<str:name>/take-out/", views.remove, name="remove"),
    path("<str:name>/bays/<str:bay>/fit/", views.fit_board, name="fit_board"),
    path("<str:name>/bays/<str:bay>/empty/", views.remove_board, name="remove_board"),
]

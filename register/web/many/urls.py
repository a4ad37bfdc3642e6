from django.urls import path

from register.web.many import views

app_name = "many"
urlpatterns = [
    path("edits/", views.listing, name="list"),
    path("edits/<int:pk>/", views.detail, name="detail"),
    path("edits/<int:pk>/undo/", views.undo, name="undo"),
    path("<str:kind>/", views.edit, name="edit"),
]

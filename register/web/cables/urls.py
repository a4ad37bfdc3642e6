from django.urls import path

from register.web.cables import views

app_name = "cables"
urlpatterns = [
    path("", views.listing, name="list"),
    path("new/", views.create, name="create"),
    path("<int:pk>/correct/", views.edit, name="edit"),
    path("<path:name>/", views.detail, name="detail"),
]

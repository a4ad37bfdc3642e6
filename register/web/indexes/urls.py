from django.urls import path

from register.web.indexes import views

app_name = "indexes"
urlpatterns = [
    path("tags/", views.patterns, name="patterns"),
    path("<int:pk>/", views.index, name="index"),
    path("<int:pk>/discard/", views.discard, name="discard"),
]

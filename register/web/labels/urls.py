from django.urls import path

from register.web.labels import views

app_name = "labels"
urlpatterns = [
    path("labels/tags.pdf", views.tags, name="tags"),
    path("labels/assets.pdf", views.assets, name="assets"),
    path("t/<str:name>", views.tag, name="tag"),
    path("a/<str:code>", views.asset, name="asset"),
]

from django.urls import path

from register.web.panel import views

app_name = "panel"
urlpatterns = [
    path("<str:name>/", views.panel, name="panel"),
]

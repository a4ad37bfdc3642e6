from django.urls import path

from register.web.workbench import views

app_name = "workbench"
urlpatterns = [
    path("save/<str:of>/", views.save, name="save"),
    path("<int:pk>/", views.change, name="change"),
]

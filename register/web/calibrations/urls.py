from django.urls import path

from register.web.calibrations import views

app_name = "calibrations"
urlpatterns = [
    path("", views.listing, name="list"),
    path("at/<str:name>/record/", views.record, name="record"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/certificate.pdf", views.certificate, name="certificate"),
]

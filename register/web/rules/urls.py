from django.urls import path

from register.web.rules import views

app_name = "rules"
urlpatterns = [
    path("", views.listing, name="list"),
    path("<slug:slug>/", views.detail, name="detail"),
    path("<slug:slug>/set/", views.set_for, name="set"),
    path("<slug:slug>/unset/<int:pk>/", views.unset, name="unset"),
]

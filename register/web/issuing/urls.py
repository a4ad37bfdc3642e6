from django.urls import path

from register.web.issuing import views

app_name = "issuing"
urlpatterns = [path("", views.listing, name="list")]

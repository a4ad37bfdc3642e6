from django.urls import path

from register.web.swaps import views

app_name = "swaps"
urlpatterns = [
    path("tags/<str:name>/what-fits/", views.what_fits, name="what_fits"),
    path("boards/<int:pk>/where-it-fits/", views.where_it_fits, name="where_it_fits"),
]

from django.urls import path

from register.web.swaps import views

app_name = "swaps"
urlpatterns = [
    path("tags/<str:name>/what-fits/", views.what_fits, name="what_fits"),
    path("tags/<str:name>/replace/", views.replace, name="replace"),
    path("tags/<str:name>/replace/review/", views.review, name="review"),
    path("tags/<str:name>/replace/give-up/", views.discard, name="discard"),
    path("tags/<str:name>/replace/<slug:step>/", views.replace, name="step"),
    path("boards/<int:pk>/where-it-fits/", views.where_it_fits, name="where_it_fits"),
]

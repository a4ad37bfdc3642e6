from django.urls import path

from register.web.calculators import views
from register.web.calculators.forms import CALCULATORS, SensorCalculator

app_name = "calculators"
urlpatterns = [
    path("", views.calculator, {"of": SensorCalculator}, name="home"),
    path("reference/", views.reference, name="reference"),
    *(
        path(f"{one.slug}/", views.calculator, {"of": one}, name=one.slug)
        for one in CALCULATORS
        if one is not SensorCalculator
    ),
]

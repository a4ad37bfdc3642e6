from django.urls import path

from register.web.sheets import views

app_name = "sheets"
urlpatterns = [
    path("sheet.pdf", views.pdf, name="pdf"),
    path("diagram.svg", views.diagram, name="diagram"),
]

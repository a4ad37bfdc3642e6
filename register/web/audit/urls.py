from django.urls import path

from register.web.audit import views

app_name = "audit"
urlpatterns = [
    path("", views.page, name="page"),
    path("<slug:answer>.pdf", views.pdf, name="pdf"),
    path("<slug:answer>.xlsx", views.xlsx, name="xlsx"),
    path("<slug:answer>.json", views.as_json, name="json"),
]

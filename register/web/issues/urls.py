from django.urls import path

from register.web.issues import views

app_name = "issues"
urlpatterns = [
    path("", views.listing, name="list"),
    path("draft/", views.draft, name="draft"),
    path("check/", views.check, name="check"),
    path("approve/", views.approve, name="approve"),
    path("<int:issue>/sheet.pdf", views.pdf, name="pdf"),
]

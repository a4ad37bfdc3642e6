from django.urls import path

from register.web.audit import views

app_name = "audit"
urlpatterns = [
    path("", views.page, name="page"),
    *(
        path(f"<slug:answer>.{ending}", views.export, {"ending": ending}, name=ending)
        for ending in ("pdf", "xlsx", "csv", "json")
    ),
]

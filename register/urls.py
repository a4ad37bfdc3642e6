"""Every address of the register; one include a feature."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("register.web.home.urls")),
    path("", include("register.web.accounts.urls")),
    path("parts/", include("register.web.parts.urls")),
    path("admin/", admin.site.urls),
    path("loops/", include("register.web.loops.urls")),
    path("tags/", include("register.web.tags.urls")),
    path("findings/", include("register.web.findings.urls")),
]

"""Every address of the register; one include a feature."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("register.web.home.urls")),
    path("", include("register.web.accounts.urls")),
    path("parts/", include("register.web.parts.urls")),
    path("admin/", admin.site.urls),
    path("search/", include("register.web.search.urls")),
    path("loops/<str:number>/history/", include("register.web.history.urls")),
    path("loops/<str:number>/issues/", include("register.web.issues.urls")),
    path("loops/<str:number>/", include("register.web.sheets.urls")),
    path("loops/", include("register.web.loops.urls")),
    path("", include("register.web.swaps.urls")),
    path("", include("register.web.labels.urls")),
    path("", include("register.web.offline.urls")),
    path("panel/", include("register.web.panel.urls")),
    path("tags/", include("register.web.tags.urls")),
    path("views/", include("register.web.workbench.urls")),
    path("cables/", include("register.web.cables.urls")),
    path("assets/", include("register.web.assets.urls")),
    path("many/", include("register.web.many.urls")),
    path("no-longer-made/", include("register.web.obsolescence.urls")),
    path("catalogue/", include("register.web.catalogue.urls")),
    path("spares/", include("register.web.spares.urls")),
    path("what-stops/", include("register.web.reach.urls")),
    path("calibrations/", include("register.web.calibrations.urls")),
    path("audit/", include("register.web.audit.urls")),
    path("sheets-to-issue/", include("register.web.issuing.urls")),
    path("packs/", include("register.web.packs.urls")),
    path("findings/", include("register.web.findings.urls")),
    path("completeness/", include("register.web.completeness.urls")),
    path("rules/", include("register.web.rules.urls")),
    path("calculators/", include("register.web.calculators.urls")),
    path("import/drawings/", include("register.web.drawings.urls")),
    path("import/", include("register.web.exchange.urls")),
]

"""The pages that write: forms of verbs, the intake of spreadsheets, jobs, labels, the scanner."""

from django.urls import URLPattern, URLResolver, include, path

from records.web import intake_page, meter_page, retention, scanning, undoing, verbs

urlpatterns: list[URLPattern | URLResolver] = [
    path("changes/<int:number>/undo/", undoing.undo_page, name="undo"),
    path("do/", verbs.all_verbs, name="verbs"),
    path("do/<str:verb>/", verbs.verb_page, name="do"),
    path("intake/", intake_page.intake_page, name="intake"),
    path("intake/readings/", meter_page.meter_page, name="meter-file"),
    path("jobs/", include("records.web.jobs_urls")),
    path("labels/", include("records.web.printing_urls")),
    path("retention/", retention.retention_page, name="retention"),
    path("scan/", scanning.scanner_page, name="scanner"),
]

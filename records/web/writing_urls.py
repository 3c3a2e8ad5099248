"""The pages that write: forms of verbs, label sheets, the intake of spreadsheets."""

from django.urls import path

from records.web import intake_page, labels_page, verbs

urlpatterns = [
    path("do/", verbs.all_verbs, name="verbs"),
    path("do/<str:verb>/", verbs.verb_page, name="do"),
    path("intake/", intake_page.intake_page, name="intake"),
    path("labels/", labels_page.labels_page, name="labels"),
    path("labels/test-page/<str:sheet>", labels_page.ruled, name="labels-test"),
]

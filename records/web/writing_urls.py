"""The pages that write: forms of verbs, label sheets, the intake of spreadsheets."""

from django.urls import path

from records.web import verbs

urlpatterns = [
    path("do/", verbs.all_verbs, name="verbs"),
    path("do/<str:verb>/", verbs.verb_page, name="do"),
]

"""The pages of labels: what to print, what was printed, what is settled, what went wrong."""

from django.urls import path

from records.web import (
    printing,
    printing_blank,
    printing_cupboard,
    printing_owner,
    printing_runs,
    printing_standing,
)

urlpatterns = [
    path("", printing.labels_page, name="labels"),
    path("print", printing.print_page, name="print"),
    path("blank", printing_blank.blank_page, name="print-blank"),
    path("standing", printing_standing.standing_page, name="labels-standing"),
    path("runs/", printing_runs.runs_page, name="print-runs"),
    path("runs/<int:run_id>/", printing_runs.run_page, name="print-run"),
    path("runs/<int:run_id>/file", printing_runs.run_file, name="print-run-file"),
    path("runs/<int:run_id>/void-blanks", printing_runs.void_blanks, name="void-blanks"),
    path("printed/<int:label_id>/spoil", printing_runs.spoil, name="spoil-label"),
    path("rules", printing_owner.rules_page, name="label-rules"),
    path("stock", printing_owner.stock_page, name="label-stock"),
    path("stock/<int:stock_id>/forget", printing_owner.forget_stock, name="forget-stock"),
    path("test-page/<str:stock_id>", printing_owner.ruled, name="labels-test"),
    path("neutral/<int:place_id>", printing_cupboard.neutral, name="neutral-sheet"),
    path("neutral/<int:place_id>/inside", printing_cupboard.neutral_inside, name="neutral-inside"),
    path("runs/<int:run_id>/neutral", printing_cupboard.neutral_of_run, name="neutral-of-run"),
    path("hazards/<int:place_id>/", printing_cupboard.hazards_page, name="hazards"),
]

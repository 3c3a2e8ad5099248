"""Every endpoint, by its address."""

from django.urls import URLPattern, URLResolver, path, re_path
from drf_spectacular.views import SpectacularAPIView
from rest_framework.routers import SimpleRouter

from api import causes, questions
from api.directory import NOUNS
from api.docs import docs
from api.explanations import ExplanationView, PictureView
from api.exports import ExportFileView, ExportsView, ExportView
from api.flats_sheet import FlatsSheetView
from api.history import HistoryView
from api.index import IndexView, NothingHereView
from api.job_deeds import JobCommitView, JobPreviewView, JobTickView
from api.job_sheet import JobSheetView
from api.label_rules import LabelRulesView
from api.label_standing import PlaceLabelsView
from api.label_stock import LabelStockView
from api.meter_file import MeterFileView
from api.neutral_sheets import NeutralSheetsView
from api.pack import PackView
from api.printing import BlankTagsView, PrintRunFileView, PrintView
from api.problem_pages import ProblemsView, ProblemView
from api.retention import RetentionView
from api.token import TokenView
from api.trees import ChannelTreeView
from api.undo import UndoView
from api.verbs import SHAPES, path_of, view_of
from api.what_if import EquipmentWhatIfView, PlaceWhatIfView

router = SimpleRouter(use_regex_path=False)
for noun, view in NOUNS.items():
    router.register(noun, view, basename=noun)

app_name = "api"

urlpatterns: list[URLPattern | URLResolver] = [
    path("", IndexView.as_view(), name="api"),
    path("token/", TokenView.as_view(), name="token"),
    path("schema/", SpectacularAPIView.as_view(), name="schema"),
    path("docs/", docs, name="docs"),
    path("problems/", ProblemsView.as_view(), name="problems"),
    path("problems/<slug:code>/", ProblemView.as_view(), name="problem"),
    path("find/", questions.FindView.as_view(), name="find"),
    path("points/<int:pk>/path/", questions.PointPathView.as_view(), name="point-path"),
    path("points/<int:pk>/below/", questions.PointBelowView.as_view(), name="point-below"),
    path("equipment/<int:pk>/below/", questions.EquipmentBelowView.as_view(), name="eq-below"),
    path("cables/<int:pk>/below/", questions.CableBelowView.as_view(), name="cable-below"),
    path("equipment/<int:pk>/legs/", questions.LegsView.as_view(), name="legs"),
    path("places/<int:pk>/leg-counts/", questions.LegCountsView.as_view(), name="leg-counts"),
    path("places/<int:pk>/building/", questions.BuildingView.as_view(), name="building"),
    path("points/<int:pk>/explanation/", ExplanationView.as_view(), name="explanation"),
    path("points/<int:pk>/picture/", PictureView.as_view(), name="picture"),
    path("points/<int:pk>/trees/", causes.PointTreesView.as_view(), name="point-trees"),
    path("equipment/<int:pk>/trees/", causes.EquipmentTreesView.as_view(), name="eq-trees"),
    path("cables/<int:pk>/trees/", causes.CableTreesView.as_view(), name="cable-trees"),
    path("places/<int:pk>/trees/", causes.PlaceTreesView.as_view(), name="place-trees"),
    path("channels/<int:pk>/causes/", causes.CausesView.as_view(), name="causes"),
    path("channels/<int:pk>/tree/", ChannelTreeView.as_view(), name="channel-tree"),
    path("places/<int:pk>/what-if/", PlaceWhatIfView.as_view(), name="place-what-if"),
    path("places/<int:pk>/pack/", PackView.as_view(), name="place-pack"),
    path("places/<int:pk>/exports/", ExportsView.as_view(), name="place-exports"),
    path("places/<int:pk>/exports/<slug:what>/", ExportView.as_view(), name="place-export"),
    path(
        "places/<int:pk>/exports/<slug:what>/file/",
        ExportFileView.as_view(),
        name="place-export-file",
    ),
    path("equipment/<int:pk>/what-if/", EquipmentWhatIfView.as_view(), name="eq-what-if"),
    path("places/sheet/", FlatsSheetView.as_view(), name="flats-sheet"),
    path("readings/file/", MeterFileView.as_view(), name="meter-file"),
    path("places/<int:pk>/labels/", PlaceLabelsView.as_view(), name="place-labels"),
    path("places/<int:pk>/neutral-sheets/", NeutralSheetsView.as_view(), name="neutral-sheets"),
    path("print-runs/labels/", PrintView.as_view(), name="print-labels"),
    path("print-runs/blank-tags/", BlankTagsView.as_view(), name="print-blank-tags"),
    path("print-runs/<int:pk>/file/", PrintRunFileView.as_view(), name="print-run-file"),
    path("label-rules/", LabelRulesView.as_view(), name="label-rules"),
    path("label-stock/", LabelStockView.as_view(), name="label-stock"),
    path("history/<slug:noun>/<int:pk>/", HistoryView.as_view(), name="history"),
    path("retention/", RetentionView.as_view(), name="retention"),
    path("jobs/from-sheet/", JobSheetView.as_view(), name="job-sheet"),
    path("changes/<int:pk>/undo/", UndoView.as_view(), name="change-undo"),
    path("jobs/<int:pk>/preview/", JobPreviewView.as_view(), name="job-preview"),
    path("jobs/<int:pk>/commit/", JobCommitView.as_view(), name="job-commit"),
    path("jobs/<int:pk>/tick/", JobTickView.as_view(), name="job-tick"),
    *router.urls,
    *(path(path_of(verb), view_of(verb), name=f"verb {verb}") for verb in SHAPES),
    re_path("", NothingHereView.as_view()),
]

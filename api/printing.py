"""Print labels: look at a sheet, record a run with its codes, answer its file; blank tags too."""

from collections.abc import Callable, Sequence
from typing import Any

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiExample, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.changes import EffectSerializer, words_of
from api.directory import address, thing_of
from api.faults import FaultError
from api.idempotency import IDEMPOTENCY_KEY, claimed, key_of
from api.nouns import no_such
from api.print_shapes import BlankShape, LookSerializer, OrderShape, PrintShape
from api.shapes import Shape, checked, checked_query
from api.verbs import MadeSerializer, PreviewShape
from labels import orders, runs
from labels.choices import CHOICES
from labels.choosing import Wanted, scope_of
from labels.item import USUAL_FIELDS, Item
from labels.random_codes import random_codes
from labels.runs import FirstLook, Laid
from labels.shelf import USUAL_SHEET
from records import changes
from records.changes.refusals import Malformed
from records.models import PrintFile, PrintRun
from records.queries.words import counted


def _described(shape: type[OrderShape], name: str) -> Callable[[Any], Any]:
    return extend_schema(
        operation_id=name,
        parameters=[PreviewShape, IDEMPOTENCY_KEY],
        request=shape,
        responses={201: MadeSerializer, 200: OpenApiResponse(LookSerializer, "A first look.")},
        examples=[OpenApiExample("As a crew sends it", shape.example, request_only=True)],
        tags=["print-runs"],
    )


class PrintView(APIView):
    """Labels of things."""

    @_described(PrintShape, "print_labels")
    def post(self, request: Request) -> Response:
        """Lay out the labels of a thing, issue the codes that are missing, and record the run."""
        return _answered(request, PrintShape, _Things)


class BlankTagsView(APIView):
    """Blank tags."""

    @_described(BlankShape, "print_blank_tags")
    def post(self, request: Request) -> Response:
        """Lay out blank tags with new codes, to be bound later, and record the run."""
        return _answered(request, BlankShape, _Blanks)


class FileShape(Shape):
    """Whether a file is wanted that differs from what was printed."""

    anyway = serializers.ChoiceField(
        ["true", "false"],
        required=False,
        help_text="true: also where the program draws otherwise today than it did then.",
    )


class PrintRunFileView(APIView):
    """The file of a run."""

    @extend_schema(
        parameters=[FileShape],
        responses={
            (200, "application/pdf"): OpenApiTypes.BINARY,
            (200, "application/zip"): OpenApiTypes.BINARY,
        },
        tags=["print-runs"],
    )
    def get(self, request: Request, pk: int) -> HttpResponse:
        """Return a run's file anew, from what is recorded of it: the same bytes as then."""
        is_anyway = checked_query(FileShape, request.query_params).get("anyway") == "true"
        run = PrintRun.objects.filter(pk=pk).first()
        if run is None:
            raise no_such(PrintRun, pk)
        content = orders.reprinted(run).content
        if orders.digest(content) != run.digest and not is_anyway:
            raise FaultError("prints_otherwise")
        kind = "pdf" if run.file == PrintFile.PDF else "zip"
        disposition = f'attachment; filename="labels-{run.pk}.{kind}"'
        return HttpResponse(
            content, f"application/{kind}", headers={"Content-Disposition": disposition}
        )


_ORDER: tuple[str, ...] = ("printer", "right_mm", "down_mm", "file", "start", "has_outlines")


class _Order:
    """What is asked to be printed."""

    def __init__(self, asked: dict[str, Any]) -> None:
        """Take the values of a body. Raises: LabelRefusal, Refusal."""
        given = {name: asked[name] for name in _ORDER if name in asked}
        self.order = orders.ordered(asked.get("stock", USUAL_SHEET), **given)
        self.asked = asked

    def first_look(self) -> FirstLook:
        raise NotImplementedError

    def laid(self) -> Laid:
        raise NotImplementedError

    @property
    def chosen(self) -> str:
        raise NotImplementedError

    def look(self) -> dict[str, Any]:
        """Return one page as a picture."""
        look = self.first_look()
        total = self.order.pictures(len(look))
        page = min(self.asked.get("page", 1), max(total, 1))
        drawn = orders.picture(look, self.order, page - 1)
        return {
            "label_count": len(look),
            "new_code_count": look.new_code_count,
            "page": page,
            "page_count": total,
            "notes": list(dict.fromkeys((*look.item_notes, *drawn.notes))),
            "picture": drawn.svg,
        }


class _Things(_Order):
    """The labels of a thing."""

    def __init__(self, asked: dict[str, Any]) -> None:
        """Find the thing. Raises: Missing, Malformed."""
        super().__init__(asked)
        scope = scope_of(asked["noun"], asked["thing"])
        if scope is None:
            raise no_such(CHOICES[asked["noun"]][0], asked["thing"])
        if scope.is_too_large:
            raise Malformed(
                f"{scope.name} holds more labels than one run.",
                hint="Print its parts one after the other.",
                field="thing",
            )
        self._scope = scope
        self._shown = frozenset(asked.get("shown", USUAL_FIELDS))

    def _items(self) -> Sequence[Item]:
        """Return what is chosen, in the order of a walk. Raises: Malformed."""
        listed = self._scope.items(self.asked.get("cable_label", ""))
        sorts, keys = self.asked.get("sorts"), self.asked.get("keys")
        unknown = set(keys or ()) - {item.key for item in listed} if keys else ()
        if unknown:
            raise Malformed(
                f"There is no label {min(unknown)!r} here.", hint="Look again.", field="keys"
            )
        wanted = Wanted(
            sorts=None if sorts is None else frozenset(sorts),
            keys=None if keys is None else frozenset(keys),
            only_needed=self.asked.get("choose", "all" if keys else "needed") != "all",
        )
        return wanted.of_items(listed)

    def first_look(self) -> FirstLook:
        """Return the labels as they would be printed."""
        return FirstLook(self._items(), self._shown)

    def laid(self) -> Laid:
        """Lay the run out. Raises: LabelRefusal."""
        return runs.lay_out(self._items(), self.order, random_codes(), self._shown)

    @property
    def chosen(self) -> str:
        """Return in words what is chosen, as a run keeps it."""
        return self._scope.chosen


class _Blanks(_Order):
    """Blank tags."""

    def first_look(self) -> FirstLook:
        """Return blank tags without true codes, all alike."""
        return runs.blank_look(self.asked["count"])

    def laid(self) -> Laid:
        """Lay the run out. Raises: LabelRefusal."""
        count = self.asked["count"]
        return runs.lay_out_blanks(count, self.order, random_codes())

    @property
    def chosen(self) -> str:
        """Return in words what is printed."""
        return counted(self.asked["count"], "blank tag")


def _answered(request: Request, shape: type[OrderShape], kind: type[_Order]) -> Response:
    """Answer with a first look, or lay out, then record, and answer with the change."""
    is_preview = checked_query(PreviewShape, request.query_params).get("preview") == "true"
    key = key_of(request)
    wanted = kind(checked(shape, request.data))
    if is_preview:
        return Response(wanted.look())
    with claimed(request, key, timezone.now()) as claim:
        answer = claim.answer or _recorded(request, wanted, claim.keep)
    return Response(answer, status=201, headers={"Location": answer["things"][0]["url"]})


def _recorded(
    request: Request, wanted: _Order, keep: Callable[[dict[str, Any]], None]
) -> dict[str, Any]:
    """Lay out before the change opens, so that the record isn't kept waiting."""
    laid = wanted.laid()
    actor: Any = request.user  # signed in, or no endpoint would have been reached
    reason = wanted.asked.get("reason", "")
    with changes.opened(actor=actor, reason=reason, at=timezone.now()) as change:
        run = runs.record(change, laid, wanted.chosen)
        effect = change.effect()
        answer = {
            "number": change.number,
            "url": address("changes", change.number),
            "verb": "prints.record",
            "words": words_of(effect),
            "effect": EffectSerializer(effect).data,
            "things": [thing_of(run)],
        }
        keep(answer)
    return answer

"""Every verb as a POST: its arguments in, the change out, or a preview of it.

A verb is handed the body's values by name and nothing else: who is signed in, the present moment
and what must be drawn at random come from here. Which shape goes with which verb stands in SHAPES.
"""

import re
from collections.abc import Callable
from inspect import getdoc
from typing import Any, ClassVar

from django.db.models import Model
from django.utils import timezone
from drf_spectacular.utils import (
    OpenApiExample,
    OpenApiResponse,
    extend_schema,
    extend_schema_view,
)
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import (
    buildings,
    cable_works,
    cables,
    catalogue_standing,
    equipment,
    hazards,
    jobs,
    joints,
    label_stock,
    light,
    lines,
    places,
    prints,
    readings,
    retention,
    tags,
)
from api.changes import MadeEffectSerializer, effect_told, words_of
from api.directory import address, thing_of
from api.idempotency import IDEMPOTENCY_KEY, claimed, key_of
from api.problems import all_refusals
from api.shapes import Shape, VerbShape, checked, checked_query
from records import changes
from records.changes import OpenChange

SHAPES: dict[str, type[VerbShape]] = {
    "bookings.bar": lines.BarLeg,
    "bookings.book": lines.BookLeg,
    "bookings.measure": lines.MeasureLeg,
    "bookings.move": lines.MoveBooking,
    "bookings.release": lines.ReleaseLeg,
    "bookings.unbar": lines.UnbarLeg,
    "bookings.unmeasure": lines.UnmeasureLeg,
    "buildings.renumber": buildings.RenumberFlats,
    "buildings.retire": buildings.RetireBuilding,
    "cable_works.reroute": cable_works.RerouteCable,
    "cable_works.swap": cable_works.SwapCable,
    "cables.damage": cables.DamageFibre,
    "cables.lay": cables.LayCable,
    "cables.measure": cables.MeasureFibre,
    "cables.mend": cables.MendFibre,
    "cables.remove": cables.RemoveCable,
    "cables.rename": cables.RenameCable,
    "cables.unmeasure": cables.UnmeasureFibre,
    "catalogue.add": catalogue_standing.AddEntry,
    "catalogue.confirm": catalogue_standing.ConfirmRow,
    "catalogue.supersede": catalogue_standing.SupersedeEntry,
    "catalogue.take_over": catalogue_standing.TakeOverSome,
    "catalogue.unconfirm": catalogue_standing.UnconfirmRow,
    "channels.darken": light.DarkenChannel,
    "channels.light": light.LightPort,
    "channels.measure": light.MeasureLaunch,
    "channels.unmeasure": light.UnmeasureLaunch,
    "cuts.cut": cable_works.CutCable,
    "equipment.install": equipment.InstallEquipment,
    "equipment.move": equipment.MoveEquipment,
    "equipment.remove": equipment.RemoveEquipment,
    "equipment.rename": equipment.RenameEquipment,
    "jobs.approve": jobs.ApproveJob,
    "jobs.draft": jobs.DraftJob,
    "jobs.drop": jobs.DropJob,
    "jobs.edit": jobs.EditJob,
    "jobs.mark_built": jobs.MarkJobBuilt,
    "jobs.unmark_built": jobs.UnmarkJobBuilt,
    "hazards.state": hazards.StateHazard,
    "hazards.withdraw": hazards.WithdrawHazard,
    "joints.join": joints.JoinPoints,
    "joints.measure": joints.MeasureJoint,
    "joints.part": joints.PartJoint,
    "joints.patch": joints.PatchPorts,
    "joints.unmeasure": joints.UnmeasureJoint,
    "label_rules.forget_stock": label_stock.ForgetStock,
    "label_rules.nudge": label_stock.NudgePrinter,
    "lines.open": lines.OpenLine,
    "places.add": places.AddPlace,
    "places.reinstate": places.ReinstatePlace,
    "places.rename": places.RenamePlace,
    "places.retire": places.RetirePlace,
    "prints.spoil": prints.SpoilLabel,
    "prints.void_blanks": prints.VoidBlanks,
    "readings.read": readings.ReadLevel,
    "readings.take_back": readings.TakeBackReading,
    "retention.forget_outside_ref": retention.ForgetOutsideRef,
    "retention.forget_person": retention.ForgetPerson,
    "retention.forget_sightings": retention.ForgetSightings,
    "swaps.swap": equipment.SwapEquipment,
    "tags.bind": tags.BindTag,
    "tags.bind_all": tags.BindTags,
    "tags.issue": tags.IssueTags,
    "tags.void": tags.VoidTag,
}
"""The shape of each verb's arguments."""

NOT_HERE = {
    "catalogue.load": "reads files on the server; it is a command of manage.py",
    "label_rules.describe_stock": "label-stock/ takes it, and checks its measures first",
    "label_rules.settle": "label-rules/ takes it, and tries the link first",
    "readings.read_all": "readings/file/ takes it, and shows each verdict first",
    "prints.record": "print-runs/labels/ and print-runs/blank-tags/ lay labels out first",
}
"""Verbs without an endpoint, and why."""

DRAWN: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    "tags.issue": lambda arguments: {"candidates": tags.candidates(arguments["count"])},
}
"""Arguments that chance gives, not the client."""


class ThingSerializer(serializers.Serializer[Any]):
    """A thing that a change made or altered, and its address."""

    noun = serializers.CharField()
    id = serializers.IntegerField()
    url = serializers.CharField()


class MadeSerializer(serializers.Serializer[Any]):
    """A change and what it did. `number`, `url` and `things` are empty for a preview."""

    number = serializers.IntegerField(allow_null=True)
    url = serializers.CharField(allow_null=True)
    verb = serializers.CharField()
    words = serializers.ListField(child=serializers.CharField())
    effect = MadeEffectSerializer()
    things = ThingSerializer(many=True)


class PreviewShape(Shape):
    """Whether to commit."""

    preview = serializers.ChoiceField(
        ["true", "false"],
        required=False,
        help_text="true: tell what the change would do, and commit nothing.",
    )


class VerbView(APIView):
    """One verb."""

    verb: ClassVar[str]

    def post(self, request: Request) -> Response:
        is_preview = checked_query(PreviewShape, request.query_params).get("preview") == "true"
        key = key_of(request)
        arguments = checked(SHAPES[self.verb], request.data)
        if is_preview:
            return Response(self._made(request, arguments, preview=True))
        with claimed(request, key, timezone.now()) as claim:
            answer = claim.answer or self._made(request, arguments, keep=claim.keep)
        return Response(answer, status=201, headers={"Location": answer["url"]})

    def _made(
        self,
        request: Request,
        arguments: dict[str, Any],
        *,
        preview: bool = False,
        keep: Callable[[dict[str, Any]], None] = lambda _answer: None,
    ) -> dict[str, Any]:
        """Run the verb as one change and return what it did; `keep` runs before the commit."""
        reason = arguments.pop("reason", "")
        if self.verb in DRAWN:
            arguments |= DRAWN[self.verb](arguments)
        actor: Any = request.user  # signed in, or no endpoint would have been reached
        with changes.opened(
            actor=actor, reason=reason, at=timezone.now(), preview=preview
        ) as change:
            result = changes.VERBS[self.verb](change, **arguments)
            answer = self._told(change, result, preview=preview)
            keep(answer)
        return answer

    def _told(self, change: OpenChange, result: Any, *, preview: bool) -> dict[str, Any]:
        things = () if preview else result if isinstance(result, list | tuple) else [result]
        return {
            "number": None if preview else change.number,
            "url": None if preview else address("changes", change.number),
            "verb": self.verb,
            "words": words_of(change.effect()),
            "effect": effect_told(change),
            "things": [thing_of(each) for each in things if isinstance(each, Model)],
        }


def view_of(verb: str) -> Any:
    """Return the endpoint of a verb, described for the schema by the verb's own words."""
    function, shape = changes.VERBS[verb], SHAPES[verb]
    noun = verb.partition(".")[0]
    described = extend_schema(
        operation_id=verb.replace(".", "_"),
        description=_described(function),
        parameters=[PreviewShape, IDEMPOTENCY_KEY],
        request=shape,
        responses={201: MadeSerializer, 200: OpenApiResponse(MadeSerializer, "A preview.")},
        examples=[OpenApiExample("As a crew sends it", shape.example, request_only=True)],
        tags=[f"verbs: {noun}"],
    )
    view: Any = type(f"{shape.__name__}View", (VerbView,), {"verb": verb})
    return extend_schema_view(post=described)(view).as_view()


def _described(verb: Callable[..., Any]) -> str:
    """Return a verb's docstring with its refusals by code, each a link to what it means."""
    words, _, raised = (getdoc(verb) or "").partition("Raises:")
    codes = {refusal.__name__: refusal.code for refusal in all_refusals()}
    named = [codes[name] for name in re.findall(r"\w+", raised) if name in codes]
    links = ", ".join(f"[{code}](/api/problems/{code}/)" for code in named)
    return f"{words.strip()}\n\nMay be refused as: {links}." if links else words.strip()


def path_of(verb: str) -> str:
    """Return a verb's address under /api/: `readings.take_back` is verbs/readings/take-back/."""
    return f"verbs/{verb.replace('.', '/').replace('_', '-')}/"

"""Questions: find, the path of a point, who hangs below a thing, legs, a building by floors."""

from inspect import getdoc
from typing import Any, ClassVar, TypeVar

from django.db.models import Model, QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import answers
from api.equipment import LegCountsSerializer
from api.faults import WrongValue, WrongValuesError, echoed
from api.nouns import no_such
from api.shapes import Text, Whole, checked_query
from api.standing import ReadShape, as_asked
from records.changes.refusals import Malformed
from records.models import Cable, Equipment, Place, Point
from records.queries.below import below, points_of, points_of_fibre
from records.queries.buildings import building
from records.queries.dark import way_up
from records.queries.find import LIMIT, find, wrong_code
from records.queries.legs import leg_counts_in, legs
from records.queries.paths import paths

M = TypeVar("M", bound=Model)


class QuestionView(APIView):
    """A question about the record as it stands, or as it stood."""

    shape: ClassVar[type[ReadShape]] = ReadShape
    told_by: ClassVar[Any]
    is_list: ClassVar[bool] = False

    def get(self, request: Request, **named: int) -> Response:
        asked = checked_query(self.shape, request.query_params)
        with as_asked(request):
            answer = self.answer(asked, **named)
            return Response(self.told_by(answer, many=self.is_list).data)

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        """Return the answer, given what stood behind the '?' and in the address."""
        raise NotImplementedError


V = TypeVar("V", bound=type[QuestionView])


def question(view: V) -> V:
    """Describe a question for the schema, in the words of its view."""
    described = extend_schema(
        parameters=[view.shape],
        responses=view.told_by(many=view.is_list),
        description=getdoc(view),
        tags=["questions"],
    )
    return extend_schema_view(get=described)(view)


def thing(things: QuerySet[M], pk: int) -> M:
    """Return the thing that an address names. Raises: Missing."""
    found = things.filter(pk=pk).first()
    if found is None:
        raise no_such(things.model, pk)
    return found


class FindShape(ReadShape):
    """What to look for."""

    q = Text(
        allow_blank=False,
        help_text="An address in any word order, a tag's code, a serial, a port's name.",
    )
    limit = Whole(required=False, min_value=1, max_value=LIMIT, help_text="At most so many.")


@question
class FindView(QuestionView):
    """What a text may mean, best first: tags, then ports, then things by their words.

    A text that can only be a tag's code, and is wrong as one, is told what is wrong with it.
    """

    shape = FindShape
    told_by = answers.FoundSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        text = asked["q"]
        found = find(text, limit=asked.get("limit", LIMIT))
        wrong = "" if found else wrong_code(text)
        if wrong:
            value = WrongValue("q", echoed(text), wrong, "a tag code such as 7K3M-9QX8")
            raise WrongValuesError([value], in_query=True)
        return found


@question
class PointPathView(QuestionView):
    """The path of light to a point: hops with loss and level, verdicts, margins.

    A point with a standby or two technologies has several paths. For a dark point `dark_way`
    tells how far up it is joined.
    """

    told_by = answers.PointPathsSerializer

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        read_with = ("equipment", "passage__cable")
        point = thing(Point.objects.select_related(*read_with), named["pk"])
        found = paths(point.pk)
        dark_way = None if found else way_up(point.pk)
        return {"point": point, "paths": found, "dark_way": dark_way}


@question
class PointBelowView(QuestionView):
    """The home terminals whose light passes a point: who goes dark if it is parted."""

    told_by = answers.HangingSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        return below(points_of(thing(Point.objects.all(), named["pk"])))


@question
class EquipmentBelowView(QuestionView):
    """The home terminals whose light passes an equipment: who goes dark if it fails."""

    told_by = answers.HangingSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        return below(points_of(thing(Equipment.objects.all(), named["pk"])))


class CableBelowShape(ReadShape):
    """Which fibre."""

    fibre = Whole(required=False, help_text="Only this fibre of the cable, by its number.")


@question
class CableBelowView(QuestionView):
    """The home terminals whose light passes a cable, or one fibre: who goes dark if it is cut."""

    shape = CableBelowShape
    told_by = answers.HangingSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        cable = thing(Cable.objects.all(), named["pk"])
        number = asked.get("fibre")
        if number is None:
            return below(points_of(cable))
        ends = points_of_fibre(cable, number)
        if not ends:
            raise Malformed(
                f"{cable} has no fibre {number}.",
                hint=f"Give a number from 1 to {cable.fibre_count}.",
                field="fibre",
            )
        return below(ends)


@question
class LegsView(QuestionView):
    """The legs of a splitter in order; none for other equipment."""

    told_by = answers.LegSerializer
    is_list = True

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        splitter = thing(Equipment.objects.all(), named["pk"])
        return legs(splitter)


@question
class LegCountsView(QuestionView):
    """How many splitter legs are in each condition, in a place and all inside it."""

    told_by = LegCountsSerializer

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        place = thing(Place.objects.all(), named["pk"])
        return leg_counts_in(place)


@question
class BuildingView(QuestionView):
    """A building by floors and dwellings: lines, legs, terminals, light, latest readings."""

    told_by = answers.BuildingSerializer

    def answer(self, asked: dict[str, Any], **named: int) -> Any:
        place = thing(Place.objects.all(), named["pk"])
        return building(place)

"""Every verb as a POST."""

import inspect
from types import NoneType, UnionType
from typing import get_args, get_origin

import pytest

from api.shapes import checked
from api.verbs import DRAWN, NOT_HERE, SHAPES
from records.changes import VERBS
from records.models import Booking, Change, Place
from tests.api.asking import address_of, told

DRAWN_NAMES = {"tags.issue": {"candidates"}}
"""Arguments that chance gives: the client can't."""


def test_every_verb_has_a_shape_or_a_reason():
    assert set(SHAPES) | set(NOT_HERE) == set(VERBS)
    assert not set(SHAPES) & set(NOT_HERE)
    assert all(NOT_HERE.values())
    assert set(DRAWN) == set(DRAWN_NAMES)


@pytest.mark.parametrize("verb", SHAPES)
def test_a_shape_has_the_names_of_its_verbs_arguments(verb):
    _change, *parameters = inspect.signature(VERBS[verb]).parameters.values()
    fields = SHAPES[verb]().fields
    expected = {
        each.name: each for each in parameters if each.name not in DRAWN_NAMES.get(verb, ())
    }

    assert set(fields) - {"reason"} == set(expected)
    for name, parameter in expected.items():
        is_optional = parameter.default is not inspect.Parameter.empty
        assert fields[name].required is not is_optional, name
        assert fields[name].allow_null is _may_be_none(parameter.annotation), name


def _may_be_none(annotation):
    return get_origin(annotation) is UnionType and NoneType in get_args(annotation)


@pytest.mark.parametrize("verb", SHAPES)
def test_the_example_in_the_docs_is_of_the_shape(verb):
    assert checked(SHAPES[verb], SHAPES[verb].example)


def test_the_whole_job_can_be_done_by_requests(api, plant):
    flat, leg = plant.flat("3"), plant["T.4"]
    line = api.read("lines/", place=flat)["results"][0]["id"]

    api.do("bookings.book", leg=leg, line=line, reason="order taken")
    drop = _made(
        api.do(
            "cables.lay", name="D3", a_place=plant.riser, b_place=flat, length_m=25, a_polish="APC"
        )
    )
    outlet = _made(api.do("equipment.install", kind="outlet", place=flat, name="Outlet"))
    terminal = _made(
        api.do("equipment.install", kind="terminal", place=flat, name="Terminal", serial="SN-3")
    )
    a_end, b_end = (each["id"] for each in api.read("points/", cable=drop)["results"])
    back, front = (
        api.read("ports/", equipment=outlet, role=role)["results"][0]["id"]
        for role in ("back", "front")
    )
    port = api.read("ports/", equipment=terminal)["results"][0]["id"]
    api.do("joints.join", a=leg, b=a_end, kind="mated")
    api.do("joints.join", a=b_end, b=back, kind="fusion", loss_db=0.04)
    made = api.do("joints.patch", a=front, b=port, reason="flat 3 connected")

    assert made["effect"]["terminals_lit"] == [port]
    assert made["effect"]["bookings"] == [{"leg": leg, "what": "live"}]
    assert api.read("bookings/", leg=leg)["results"][0]["state"] == "live"
    (path,) = api.read(f"points/{port}/path/")["paths"]
    assert path["light"]["leg"] == leg
    assert path["light"]["down_verdicts"] == []


def _made(answer):
    (thing,) = answer["things"]
    return thing["id"]


def test_a_change_is_answered_with_its_number_words_effect_and_what_it_made(api, plant):
    answer = api.post(
        address_of("places.add"),
        {"kind": "flat", "name": "Flat 9", "parent": plant.building, "reason": "counted"},
    )

    made = answer.json()
    change = Change.objects.get(pk=made["number"])
    assert answer.status_code == 201
    assert answer.headers["Location"] == made["url"] == f"/api/changes/{change.pk}/"
    assert (change.actor.username, change.reason, change.verb) == ("crew", "counted", "places.add")
    assert made["words"] == ["added flat Alder Close, Block A, Flat 9"]
    place = Place.objects.get(name="Flat 9")
    assert made["things"] == [{"noun": "place", "id": place.pk, "url": f"/api/places/{place.pk}/"}]
    assert api.get(made["things"][0]["url"].removeprefix("/api/")).status_code == 200


def test_a_preview_tells_the_effect_and_commits_nothing(api, plant):
    joint, before = plant.joint("O.1"), Change.objects.count()

    answer = api.post(f"{address_of('joints.part')}?preview=true", {"joint": joint})

    told_effect = answer.json()
    assert answer.status_code == 200
    assert told_effect["effect"]["terminals_darkened"] == [plant["H"]]
    assert (told_effect["number"], told_effect["url"], told_effect["things"]) == (None, None, [])
    assert Change.objects.count() == before
    assert api.read(f"joints/{joint}/")

    committed = api.post(f"{address_of('joints.part')}?preview=false", {"joint": joint}).json()
    assert committed["effect"] == told_effect["effect"]


def test_what_goes_wrong_with_the_light_of_homes_is_told_by_name_and_in_words(api, plant):
    body = {"joint": plant.joint("O.1"), "loss_db": 20}

    effect = api.post(f"{address_of('joints.measure')}?preview=true", body).json()["effect"]

    (home,) = effect["homes"]
    assert (home["point"], home["before"][0]["verdicts"]) == (plant["H"], [])
    words = home["after"][0]["verdicts"]
    assert words[0].startswith("down: too weak: -")
    name = f"{home['terminal']} of {home['address']}, {home['after'][0]['channel_name']}"
    assert effect["warnings"] == [f"{name}: {each}" for each in words]


def test_a_refusal_keeps_its_words_and_leaves_nothing(api, plant):
    before = Change.objects.count()

    answer = api.post(address_of("bookings.book"), {"leg": plant["T.2"], "line": plant.line("3")})

    problem = told(answer, 409, "leg_booked")
    assert problem["detail"].startswith(
        "Leg 2 of T (Alder Close, Block A, Riser) is held for line"
    )
    assert problem["detail"].endswith("of Alder Close, Block A, Flat 2.")
    assert problem["hint"] == "Choose a spare leg, or release that booking first."
    assert problem["field"] == "leg"
    assert problem["type"] == "/api/problems/leg_booked/"
    assert problem["instance"] == "/api/verbs/bookings/book/"
    assert Change.objects.count() == before
    assert Booking.objects.count() == 2


def test_a_preview_is_refused_in_the_same_words(api, plant):
    body = {"leg": plant["T.2"], "line": plant.line("3")}

    previewed = api.post(f"{address_of('bookings.book')}?preview=true", body)
    asked = api.post(address_of("bookings.book"), body)

    assert previewed.json() == asked.json()


def test_tags_are_issued_with_codes_of_chance(api, plant):
    things = api.do("tags.issue", count=5)["things"]

    codes = {api.read(each["url"].removeprefix("/api/"))["code"] for each in things}
    assert len(codes) == 5

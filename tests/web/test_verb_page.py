"""What a verb's page says before and after: effect, refusal, one recording, sent however often."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

import pytest
from django.db import connection
from django.test import Client

from records.models import Booking, Change, Joint, JointEnd
from tests.factories import Plant, user
from tests.unchanged import nothing_written

PLANT = """
    olt O
    splitter S 1:4
    cable D1 30 m
    cable D2 30 m
    outlet U1 @1
    outlet U2 @2
    terminal T1 @1
    terminal T2 @2
    flat 3
    O.1 = S
    light O.1 GPON B+
    S.1 = D1 ~ U1 - T1
    S.2 = D2 ~ U2 - T2
    book S.3 for 3
"""


@pytest.fixture
def plant(db):
    return Plant(PLANT)


def words(page):
    """Return the text of a page in one line."""
    return " ".join(page.content.decode().split())


def sent(crew, verb, fields, **more):
    """Send a form with a token from its page."""
    page = crew.get(f"/do/{verb}/", fields)
    return crew.post(f"/do/{verb}/", {"token": page.context["token"], **fields, **more})


def test_the_page_says_who_would_go_dark_and_records_nothing(crew, plant):
    with nothing_written():
        page = crew.get("/do/joints.part/", {"joint": plant.joint("S.in")})

    effect = page.context["effect"]
    assert [home.address for home in effect.dark] == [
        "Alder Close, Block A, Flat 1",
        "Alder Close, Block A, Flat 2",
    ]
    assert "2 homes go dark" in words(page)
    assert words(page).index("2 homes go dark") < words(page).index('class="main grave"')


def test_a_destructive_form_says_so_when_no_home_goes_dark(crew, plant):
    page = crew.get("/do/bookings.release/", {"leg": plant["S.3"]})

    assert "No home goes dark." in words(page)


def test_a_building_retired_with_lit_terminals_is_not_said_to_darken_nobody(crew, plant):
    page = crew.get("/do/buildings.retire/", {"place": plant.building})

    assert page.context["effect"].terminals_removed == 2
    assert "2 lit home terminals" in words(page)
    assert "No home goes dark." not in words(page)


def test_the_page_says_which_homes_would_get_light_and_at_what_level(crew, plant):
    joint = plant.joint("S.in")
    a, b = JointEnd.objects.filter(joint=joint).values_list("point", flat=True)
    sent(crew, "joints.part", {"joint": joint})

    page = crew.get("/do/joints.join/", {"a": a, "b": b, "kind": "mated"})

    home = page.context["effect"].lit[0]
    assert (home.address, home.terminal) == ("Alder Close, Block A, Flat 1", "T1")
    assert -11 < home.light[0].level.typical_dbm < -2
    assert "2 homes get light" in words(page)


def test_a_home_with_a_standby_is_said_to_be_on_it(crew, db):
    plant = Plant(
        """
        olt O x2
        splitter S 2:4
        terminal T1 @1
        light O.1 GPON B+
        light O.2 GPON B+ standby O.1
        O.1 = S.in1
        O.2 = S.in2
        S.1 - T1
        """
    )

    page = crew.get("/do/joints.part/", {"joint": plant.joint("S.in1")})

    effect = page.context["effect"]
    assert not effect.dark
    assert [home.terminal for home in effect.on_standby] == ["T1"]
    assert "1 home is on standby" in words(page)


def test_a_refusal_is_told_before_anything_is_sent(crew, plant):
    page = crew.get("/do/bookings.book/", {"leg": plant["S.3"], "line": plant.line("1")})

    assert page.status_code == 200
    assert "This would be refused." in words(page)
    assert "Leg 3 of S (Alder Close, Block A, Riser) is held for line" in words(page)


def test_a_refusal_stands_beside_its_field_and_keeps_what_was_typed(crew, plant):
    fields = {"leg": plant["S.3"], "line": plant.line("1"), "reason": "job <b>77</b>"}

    with nothing_written():
        answer = sent(crew, "bookings.book", fields)

    assert answer.status_code == 409
    row = next(row for row in answer.context["rows"] if row.field.name == "leg")
    assert row.refusal.code == "leg_booked"
    assert "Choose a spare leg, or release that booking first." in words(answer)
    assert "job &lt;b&gt;77&lt;/b&gt;" in words(answer)
    assert answer.context["form"]["line"].value() == str(plant.line("1"))


def test_a_refusal_without_a_field_is_told_on_top(crew, plant):
    answer = sent(crew, "cables.remove", {"cable": plant.id("D1")})

    assert answer.status_code == 409
    assert answer.context["form"].general_refusal.code == "still_joined"
    assert "Part these joints first." in words(answer)


@pytest.mark.parametrize(
    "case",
    [
        ({"loss_db": "much"}, 422, "&#x27;much&#x27; is not a number. Type figures such as"),
        ({"loss_db": ""}, 422, "This is empty. Fill it in."),
        ({"loss_db": "99"}, 422, "Loss 99 dB is not possible. </strong> Give a number from 0"),
        ({"leg": "4711", "loss_db": "1"}, 404, "There is no leg number 4711."),
        ({"leg": "seven", "loss_db": "1"}, 422, "&#x27;seven&#x27; is not a leg known here."),
        ({"leg": "9" * 30, "loss_db": "1"}, 422, "is not a leg known here."),
    ],
)
def test_a_wrong_value_is_answered_with_the_field_and_what_is_allowed(crew, plant, case):
    fields, status, text = case

    with nothing_written():
        answer = sent(crew, "bookings.measure", {"leg": plant["S.1"], **fields})

    assert answer.status_code == status
    assert text.replace(" </strong>", "</strong>") in words(answer)


@pytest.mark.parametrize(
    "case",
    [
        ("bookings.bar", {"leg": "S.3", "why": "kinked"}, "Move that line to another leg first"),
        ("equipment.move", {"equipment": "S", "place": ""}, "S stands in Alder Close, Block"),
        ("joints.part", {"joint": "4711"}, "There is no such joint any more."),
        ("readings.read", {"point": "T1", "level_dbm": "nan"}, "&#x27;nan&#x27; is not a number."),
    ],
)
def test_a_refusal_says_what_to_do_about_this_very_thing(crew, plant, case):
    verb, fields, said = case
    ids = {"S.3": plant["S.3"], "S": plant.id("S"), "T1": plant["T1"], "": plant.riser}

    with nothing_written():
        answer = sent(crew, verb, {name: ids.get(value, value) for name, value in fields.items()})

    assert said in words(answer)


def test_a_thing_that_is_gone_is_said_to_be(crew, plant):
    page = crew.get("/do/joints.join/", {"a": "4711"})

    assert page.status_code == 200
    assert "not in the record any more" in words(page)


def test_checking_records_nothing(crew, plant):
    fields = {"leg": plant["S.4"], "line": plant.line("3")}

    with nothing_written():
        answer = sent(crew, "bookings.book", fields, check="on")

    assert answer.status_code == 200


def test_a_form_sent_twice_is_recorded_once_and_shows_the_first_result(crew, plant):
    form = {"leg": plant["S.4"], "why": "kinked tail"}
    form["token"] = crew.get("/do/bookings.bar/", form).context["token"]

    first = crew.post("/do/bookings.bar/", form)
    again = crew.post("/do/bookings.bar/", form)

    assert (first.status_code, again.status_code) == (302, 302)
    assert first["Location"] == again["Location"]
    assert Change.objects.filter(verb="bookings.bar").count() == 1
    assert words(crew.get(again["Location"])).count("Barred leg 4 of S") == 2


def test_a_form_that_makes_something_makes_it_once(crew, plant):
    form = {"parent": plant.building, "kind": "floor", "name": "Floor 1"}
    form["token"] = crew.get("/do/places.add/", form).context["token"]

    first, again = (crew.post("/do/places.add/", form) for _ in range(2))

    assert first["Location"] == again["Location"]
    assert Change.objects.filter(verb="places.add").count() == 1


def test_a_form_altered_and_sent_again_is_another_change(crew, plant):
    form: dict[str, Any] = {"point": plant["T1"], "level_dbm": "-17.1", "wavelength_nm": "1490"}
    form |= {"direction": "down", "uncertainty_db": "0.5"}
    form["token"] = crew.get("/do/readings.read/", form).context["token"]

    crew.post("/do/readings.read/", form)
    crew.post("/do/readings.read/", {**form, "level_dbm": "-17.2"})

    assert Change.objects.filter(verb="readings.read").count() == 2


def test_another_person_with_the_same_form_makes_another_change(crew, plant):
    other = Client()
    other.force_login(user("second crew"))
    form: dict[str, Any] = {"point": plant["T1"], "level_dbm": "-17.1", "wavelength_nm": "1490"}
    form |= {"direction": "down", "uncertainty_db": "0.5"}
    form["token"] = crew.get("/do/readings.read/", form).context["token"]

    crew.post("/do/readings.read/", form)
    other.post("/do/readings.read/", form)

    assert Change.objects.filter(verb="readings.read").count() == 2


@pytest.mark.parametrize("token", ["", "5-x", "5-x:forged"])
def test_a_form_without_its_token_is_shown_again(crew, plant, token):
    form = {"leg": plant["S.4"], "why": "kinked tail", "token": token}

    with nothing_written():
        answer = crew.post("/do/bookings.bar/", form)

    assert answer.status_code == 422
    assert "Look at it, and send it again." in words(answer)


@pytest.mark.django_db(transaction=True)
def test_a_form_sent_by_two_fingers_at_once_is_recorded_once():
    plant = Plant(PLANT)
    clients = [Client(), Client()]
    for client in clients:
        client.force_login(user())
    form: dict[str, Any] = {"point": plant["T1"], "level_dbm": "-17.1", "wavelength_nm": "1490"}
    form |= {"direction": "down", "uncertainty_db": "0.5"}
    form["token"] = clients[0].get("/do/readings.read/", form).context["token"]
    both = Barrier(2)

    def post(client):
        both.wait()
        try:
            return client.post("/do/readings.read/", form).status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as hands:
        statuses = list(hands.map(post, clients))

    assert statuses == [302, 302]
    assert Change.objects.filter(verb="readings.read").count() == 1


def test_the_reason_is_kept(crew, plant):
    sent(crew, "bookings.book", {"leg": plant["S.4"], "line": plant.line("3")}, reason=" job 77 ")
    # The line of flat 3 has leg 3 already, so nothing was recorded.
    assert not Change.objects.filter(reason="job 77").exists()

    sent(crew, "bookings.release", {"leg": plant["S.3"]}, reason=" job 77 ")

    assert Change.objects.get(reason="job 77").verb == "bookings.release"
    assert Booking.objects.get(leg=plant["S.3"]).state == "released"


def test_a_verb_that_asks_why_keeps_that_as_the_reason(crew, plant):
    sent(crew, "bookings.bar", {"leg": plant["S.4"], "why": "kinked tail"})

    assert Change.objects.latest("number").reason == "kinked tail"


def test_a_stranger_is_asked_to_sign_in(client, plant):
    joints = Joint.objects.count()

    answer = client.post("/do/joints.part/", {"joint": plant.joint("S.in")})

    assert answer.status_code == 403
    assert "Sign in, and the form comes back as you filled it in." in words(answer)
    assert Joint.objects.count() == joints

"""Every form is offered beside the thing it acts on, so that nobody has to know its name."""

import re

import pytest

from records.changes import bookings, cables, channels, joints, places, readings
from records.models import Cable, Equipment, Line, Place, Point
from records.web.forms import FORMS
from tests.factories import Plant, opened, user
from tests.web.reading import PLANT, words

OFFERED_ELSEWHERE = {
    "catalogue.add": "makes what is not there yet: on the page of the catalogue",
    "catalogue.supersede": "on the page of a catalogue's entry",
    "catalogue.confirm": "on the page of what a catalogue's row says",
    "catalogue.unconfirm": "on the page of what a catalogue's row says",
    "hazards.state": "statements are read and made on a page of labels, by who assesses hazards",
    "hazards.withdraw": "likewise",
    "retention.forget_outside_ref": "for an owner, on the page of what has had its time",
    "retention.forget_person": "likewise",
    "retention.forget_sightings": "likewise",
    "tags.void": "on the page of the tag, and of what was scanned",
}


@pytest.fixture
def plant(db):
    plant = Plant(PLANT)
    with opened() as change:
        joints.measure(change, plant.joint("S.in"), loss_db=0.2)
        bookings.measure(change, plant["S.1"], loss_db=7)
        cables.measure(change, plant.id("F"), fibre=1, loss_db=0.6)
        cables.damage(change, plant.id("F"), fibre=2, why="crushed")
        channels.measure(change, plant.channel("O.1"), launch_dbm=3)
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=-10)
        gone = places.add(change, kind="flat", name="Flat 9", parent=plant.building)
        places.retire(change, gone.pk)
    return plant


@pytest.fixture
def crew(client, plant):
    client.force_login(user())
    return client


def pages():
    for noun, model in (
        ("places", Place),
        ("equipment", Equipment),
        ("points", Point),
        ("cables", Cable),
        ("lines", Line),
    ):
        yield from (f"/{noun}/{pk}/" for pk in model.objects.values_list("pk", flat=True))


def test_every_form_is_offered_by_the_page_of_some_thing(crew):
    offered = {
        verb
        for address in pages()
        for verb in re.findall(r'href="/do/([a-z_.]+)/', crew.get(address).content.decode())
    }

    assert set(FORMS) - offered == set(OFFERED_ELSEWHERE)


def test_a_flat_without_a_leg_offers_one_and_all_changes_are_in_the_menu(crew, plant):
    with opened() as change:
        flat = places.add(change, kind="flat", name="Flat 8", parent=plant.building)
    page = crew.get(f"/places/{flat.pk}/")
    line = Line.objects.get(place=flat.pk)

    assert f'href="/do/bookings.book/?line={line.pk}">Book a leg' in page.content.decode()
    assert 'href="/do/">Change the record' in page.content.decode()


def test_what_can_be_done_stands_before_the_flats_of_a_building(crew, plant):
    page = words(crew.get(f"/places/{plant.building}/"))

    assert page.index("What can be done here") < page.index("Flat 1")


def test_a_path_says_what_is_lost_on_all_of_it(crew, plant):
    page = words(crew.get(f"/points/{plant['T1']}/"))

    told = re.search(r"All the way, 1,232 m of fibre ([\d.]+) dB ([\d.]+)…([\d.]+)", page)
    assert told, page
    typical_db, least_db, most_db = map(float, told.groups())
    assert least_db < typical_db < most_db
    # The launch was measured as 3 dBm; what is left of it at the end is the level there.
    assert f"port 1 \N{MINUS SIGN}{typical_db - 3:.2f} dBm" in page

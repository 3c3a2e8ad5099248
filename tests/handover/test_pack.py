"""The as-built pack as a PDF: what stands where, what must not, and the same bytes each time."""

import io
import re
from dataclasses import replace

import pdfplumber
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.changes import (
    Refusal,
    bookings,
    cables,
    equipment,
    hazards,
    label_rules,
    places,
    readings,
)
from records.handover.names import KEPT
from records.handover.pack import document
from records.handover.pack.words import NONE
from records.models import Change, Equipment
from records.queries.explain import explain_path
from records.queries.legs import legs
from records.queries.moment import as_it_stood
from records.queries.paths import paths
from tests.factories import AT, Plant, opened
from tests.handover.packs import FULL, PLANT, Asked, pack_of, pages, plant_of, whole

pytestmark = pytest.mark.django_db


@pytest.fixture
def plant():
    return Plant(PLANT)


def section(found, title):
    """Return the text of the pages from a section's first on, up to the next section's."""
    rows = [row for row in found[1].splitlines() if re.search(r" \d+$", row)]
    starts = {row.split(" ")[0]: int(row.rsplit(" ", 1)[1]) for row in rows}
    first = starts[title.split(" ")[0]]
    after = min((page for page in starts.values() if page > first), default=len(found) + 1)
    return "\n".join(found[first - 1 : after - 1])


def test_the_contents_lead_to_the_page_on_which_each_section_begins(plant):
    found = pages(pack_of(plant.building))

    for title in ("Homes", "Splitters and legs", "Cables and fibres", "Figures used"):
        assert title in section(found, title).splitlines()[2 - 1 :][:3], title
    assert f"page 1 of {len(found)}" in found[0]
    assert f"page {len(found)} of {len(found)}" in found[-1]


def test_the_cover_names_the_moment_its_digest_and_how_to_treat_fibres(plant):
    change = Change.objects.latest("number")

    cover = pages(pack_of(plant.building, FULL))[0]

    assert f"after change {change.number}, 2026-03-02 09:30 UTC" in cover
    assert change.digest in cover
    assert "Asked for by crew" in cover
    assert "Treat every fibre as live" in cover
    assert "Check the level with a power meter before looking" in cover


def test_levels_are_those_that_the_record_has(plant):
    (path,) = paths(plant["T1"])
    found = pages(pack_of(plant.building))

    row = next(row for row in section(found, "Homes").splitlines() if "S leg 1" in row)
    assert f"{path.lit.level.typical_dbm:.2f}" in row
    assert "down: too" in row
    assert path.lit.down_verdicts
    sheet = section(found, "Light").partition("GPON B+: ")[2]
    for hop in path.hops:
        level = hop.level
        levels = f"{level.least_dbm:.2f} {level.typical_dbm:.2f} {level.most_dbm:.2f}"
        assert levels in sheet
    for direction, margins in (
        ("down", path.lit.down_margins),
        ("up", path.lit.up_margins),
    ):
        _, typical, likely, worst = explain_path(path, direction).cases
        told = (worst.margin_db, likely.margin_db, typical.margin_db, margins.below_overload_db)
        assert " ".join(f"{each:.2f}" for each in told) in sheet
    assert "k = 2" in section(found, "Figures")


def test_a_leg_stands_with_its_condition_line_and_remark(plant):
    text, full = (
        section(pages(pack_of(plant.building, asked)), "Splitters") for asked in (Asked(), FULL)
    )

    for leg in legs(Equipment.objects.get(pk=plant.id("S"))):
        assert re.search(rf"^{leg.number} {leg.condition} .*{leg.line}", text, re.MULTILINE)
    assert "broken tail" in full
    assert KEPT in text
    assert "4 legs: 1 held, 2 live, 1 barred." in text


def test_a_reading_stands_with_its_verdict(plant):
    with opened() as change:
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=-31.5, meter="PM-7")

    found = pages(pack_of(plant.building))

    assert "-31.50 low" in section(found, "Homes")
    sheet = section(found, "Light").replace("\xa0", " ")
    assert "Last reading at the home, dBm: -31.50 low" in sheet
    assert "PM-7" in sheet
    assert "read -31.50" in sheet


def test_damaged_and_spare_fibres_are_told_apart(plant):
    with opened() as change:
        cables.damage(change, plant.id("F"), fibre=2, why="crushed")
        cables.lay(
            change,
            name="R9",
            a_place=plant.riser,
            b_place=plant.building,
            length_m=40,
            fibre_count=4,
        )

    text = section(pages(pack_of(plant.building)), "Cables")

    assert re.search(rf"^F .* 1 {NONE} {NONE} 1$", text, re.MULTILINE)
    assert re.search(rf"^R9 .*40 m.* {NONE} {NONE} 4 {NONE}$", text, re.MULTILINE)
    assert "Fibres of R9" in text
    assert text.count("open, bare open, bare") == 4


def test_without_addresses_no_place_that_makes_one_is_named(plant):
    with opened() as change:
        equipment.rename(change, plant.id("U1"), name="Outlet Flat 1")
        cables.rename(change, plant.id("D2"), name="Drop Flat 2 Block A")
        bookings.unbar(change, plant["S.4"])
        bookings.bar(change, plant["S.4"], why="tail broken at Flat 2")

    usual, full = (whole(pack_of(plant.building, asked)) for asked in (Asked(since=1), FULL))

    for name in ("Alder Close", "Block A", "Flat 1", "Flat 2", "Flat 3"):
        assert name not in usual
        assert name in full
    assert f"outlet {plant.id('U1')}" in usual
    assert f"cable {plant.id('D2')}" in usual


def test_without_addresses_no_person_is_named_nor_anything_people_wrote(plant):
    said = "Zoe at the back door"
    with opened() as change:
        bookings.bar(change, plant["V.1"], why=said)
        cables.damage(change, plant.id("F"), fibre=2, why=said)
        hazards.state(
            change,
            plant.riser,
            hazard_level="1M",
            assessor="Zoe Zimmer",
            stated_date=AT.date(),
            note=said,
        )
        readings.read(change, plant["T1"], wavelength_nm=1490, level_dbm=-19, note=said)

    usual = Asked(asked_by="zoe", since=1)
    content = pack_of(plant.building, usual)
    full = whole(pack_of(plant.building, replace(usual, has_addresses=True)))

    assert not re.search(r"zoe|back door|Alder|Block", whole(content), re.IGNORECASE)
    assert "Zoe Zimmer" in full
    assert f"cut: {said}" in full or said in full.replace("\n", " ")
    with pdfplumber.open(io.BytesIO(content)) as pdf:
        told = str(pdf.metadata) + str([each[1] for each in pdf.doc.get_outlines()])
    assert "Light at each home" in told
    assert not re.search(r"zoe|Alder|Block|Flat", told, re.IGNORECASE)


def test_a_thing_elsewhere_may_not_repeat_the_address_either(plant):
    with opened() as change:
        equipment.rename(change, plant.id("O"), name="OLT Block A")

    assert f"olt {plant.id('O')}" in whole(pack_of(plant.building))


def test_the_same_moment_and_form_give_the_same_bytes(plant):
    number = Change.objects.latest("number").number
    before = pack_of(plant.building, FULL)
    with opened() as change:
        bookings.bar(change, plant["V.1"], why="bent")

    after = pack_of(plant.building, FULL)
    with as_it_stood(number):
        again = pack_of(plant.building, FULL)

    assert before == again
    assert before != after
    assert "bent" in whole(after)
    assert "bent" not in whole(again)


def test_deviations_are_the_changes_after_the_one_asked_for(plant):
    number = Change.objects.latest("number").number
    with opened(reason="leg found bent") as change:
        bookings.bar(change, plant["V.1"], why="bent")

    usual, full = (
        pages(pack_of(plant.building, Asked(since=number, has_addresses=form)))[-1]
        for form in (False, True)
    )

    assert f"1 change touched this place after change {number}." in usual
    assert "bookings.bar" in usual
    assert "leg found bent" not in usual
    assert "leg found bent" in full


def test_names_of_many_scripts_print_and_wrap_within_the_page(plant):
    names = {
        "T1": "Τερματικό Ёлка çğş مقسم 终端设备",
        "T2": "หอ " + "W" * 56,
        "P": "panel with a name that is as long as names may be, all of 60 x",
    }
    with opened() as change:
        for name, said in names.items():
            equipment.rename(change, plant.id(name), name=said[:60])
        places.rename(change, plant.building, name="Haus Größe 塔楼 " + "long " * 12)

    content = pack_of(plant.building, FULL)

    text = whole(content)
    assert "Τερματικό" in text
    assert "终端设备" in text
    assert "[U+0E2B]" in text
    with pdfplumber.open(io.BytesIO(content)) as pdf:
        for page in pdf.pages:
            assert min(each["x0"] for each in page.chars) > 40
            assert max(each["x1"] for each in page.chars) < page.width - 40
            assert not {"Helvetica", "Times-Roman"} & {each["fontname"] for each in page.chars}


@pytest.mark.parametrize(
    ("language", "width_mm", "height_mm"), [("de-DE", 210, 297), ("en-US", 215.9, 279.4)]
)
def test_the_paper_is_that_of_the_owners_country(plant, language, width_mm, height_mm):
    with opened() as change:
        label_rules.settle(
            change, host="legbook.example", smallest_module_mm=0.3, language=language
        )

    with pdfplumber.open(io.BytesIO(pack_of(plant.building))) as pdf:
        for page in pdf.pages:
            assert page.width / 72 * 25.4 == pytest.approx(width_mm, abs=0.01)
            assert page.height / 72 * 25.4 == pytest.approx(height_mm, abs=0.01)
            assert max(each["x1"] for each in page.chars) < page.width - 40


def test_a_larger_building_costs_no_more_queries():
    small = Plant(plant_of(2))
    with CaptureQueriesContext(connection) as few:
        pack_of(small.building)
    with opened() as change:
        places.rename(change, small.estate, name="First")
        places.rename(change, small.building, name="Block Z")
    large = Plant(plant_of(24))
    with CaptureQueriesContext(connection) as many:
        pack_of(large.building)

    assert len(many) <= len(few)
    assert len(many) < 70


def test_a_place_of_too_many_homes_is_refused_in_words(plant, monkeypatch):
    monkeypatch.setattr(document, "HOMES_MAX", 2)

    with pytest.raises(Refusal, match="Block A holds 3 homes; a pack holds at most 2") as refused:
        pack_of(plant.building)

    assert "each building" in refused.value.hint


def test_a_cupboard_without_homes_has_a_pack_of_what_is_there(plant):
    found = pages(pack_of(plant.riser))

    assert "Homes" not in found[1]
    assert "Splitters and legs" in found[1]
    assert "4 legs: 1 held, 2 live, 1 barred." in whole(pack_of(plant.riser))

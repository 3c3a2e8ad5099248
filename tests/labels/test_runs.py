"""Print runs: what is chosen in which order, the same bytes again, what was recorded."""

import io
import random
import re
from decimal import Decimal
from zipfile import ZipFile

import pytest
from django.db import Error

from labels import orders, owner, runs, shelf
from labels.choices import (
    cable_items,
    equipment_items,
    job_items,
    label_items,
    place_items,
    point_items,
)
from labels.design import KINDS
from labels.refusals import LabelRefusal
from labels.stock import Offset
from records.changes import VERBS, Refusal
from records.models import (
    Cable,
    Change,
    Equipment,
    Job,
    Place,
    Point,
    PrintedLabel,
    PrintRun,
    Tag,
)
from records.models.tag_code import NUMBER_COUNT, candidate, grouped
from records.queries import chain
from tests.factories import AT, Plant, opened, user
from tests.labels.readers import page_texts, rasterised, read, read_png
from tests.unchanged import nothing_written, refused

pytestmark = pytest.mark.django_db

PLANT = """
    olt O x2
    splitter S 1:4
    splitter S10 1:4
    splitter S9 1:4
    panel P x2
    closure K
    cable D 30 m
    outlet U @12
    terminal T @12
    light O.1 GPON B+
    O.1 = S
    S.1 = D ~ U - T
"""
ADDRESS = ("Alder", "Close", "Block", "Flat", "Hut")


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


def codes(seed=1):
    draw = random.Random(seed)
    while True:
        code = candidate(draw.randrange(NUMBER_COUNT))
        if code is not None:
            yield code


def order(stock="A4-4x10", **options):
    return orders.Order(stock=shelf.stock(stock), settings=owner.settled(), **options)


def building(plant):
    return place_items(Place.objects.get(pk=plant.building))


def box(plant, name):
    return equipment_items(Equipment.objects.get(pk=plant.id(name)))


def print_(items, stock="A4-4x10", seed=1, **options):
    laid = runs.lay_out(items, order(stock, **options), codes(seed))
    with opened() as change:
        return runs.record(change, laid, "a test"), laid.file.content


def test_a_walk_goes_cupboard_equipment_port_and_counts_in_tens(plant):
    with opened() as change:
        floor = VERBS["places.add"](
            change, kind="floor", name="Floor 10", parent=plant.building, storey=10
        )
        low = VERBS["places.add"](
            change, kind="floor", name="Floor 2", parent=plant.building, storey=2
        )
        for each in (floor, low):
            VERBS["places.add"](change, kind="riser cupboard", name="C", parent=each.pk)

    items = building(plant)

    walk = [item.name for item in items if item.what in {"cupboard", "box", "leg", "port"}]
    assert walk[:9] == [
        "riser cupboard Riser",
        "closure K",
        "panel P",
        "front 1 of P",
        "front 2 of P",
        "splitter S",
        "input 1 of S",
        "leg 1 of S",
        "leg 2 of S",
    ]
    assert walk.index("splitter S9") < walk.index("splitter S10")
    cupboards = [item.where for item in items if item.what == "cupboard"]
    assert [where.rpartition("Block A, ")[2] for where in cupboards] == [
        "Riser",
        "Floor 2, C",
        "Floor 10, C",
    ]


def test_a_run_prints_the_same_bytes_from_its_record(plant):
    run, content = print_(building(plant), start=7)

    with opened() as change:
        VERBS["equipment.rename"](change, plant.id("S"), name="another name")
    again = orders.reprinted(PrintRun.objects.get(pk=run.pk)).content

    assert again == content
    assert orders.digest(again) == run.digest


@pytest.mark.parametrize("file", ["pdf", "png"])
@pytest.mark.parametrize("stock", ["tape-24", "die-57x32"])
def test_a_roll_prints_the_same_bytes_from_its_record(plant, stock, file):
    run, content = print_(box(plant, "S"), stock, file=file)

    assert orders.reprinted(PrintRun.objects.get(pk=run.pk)).content == content


def test_it_is_recorded_who_printed_what_text_when(plant):
    run, _content = print_(box(plant, "S"))

    change = Change.objects.get(pk=run.change_id)
    assert (change.actor, change.at, change.verb) == (user(), AT, "prints.record")
    said = [(label.kind, label.fields) for label in run.labels.order_by("position")]
    assert said[0] == ("splitter", {"name": "S", "size": "1:4"})
    assert said[2] == ("leg", {"number": "1", "equipment": "S"})
    assert len(said) == 6


def test_each_thing_gets_its_code_once_and_keeps_it(plant):
    first, _ = print_(box(plant, "S"), seed=1)
    changes = Change.objects.count()
    tags = set(Tag.objects.values_list("code", flat=True))
    second, _ = print_(box(plant, "S"), seed=2)

    assert set(Tag.objects.values_list("code", flat=True)) == tags
    assert Tag.objects.get(point=plant["S.3"]).code in tags
    assert Change.objects.count() == changes + 1
    by_run = [
        list(run.labels.order_by("position").values_list("tag__code", flat=True))
        for run in (first, second)
    ]
    assert by_run[0] == by_run[1]


def test_codes_are_bound_to_what_their_label_is_stuck_on(plant):
    run, content = print_(building(plant))

    read_back = {
        text.rpartition("/")[2] for page in rasterised(content, 300) for text in read(page)
    }
    printed = {label.tag.code: label for label in run.labels.filter(tag__isnull=False)}
    assert read_back == set(printed)
    for code, label in printed.items():
        tag = Tag.objects.get(code=code)
        assert getattr(tag, f"{label.noun}_id") == label.thing
        assert tag.cable_end == label.cable_end


def test_a_printed_building_says_no_address_and_no_service(plant):
    with opened() as change:
        VERBS["equipment.rename"](change, plant.id("T"), name="Terminal flat 12")
        VERBS["equipment.rename"](change, plant.id("S9"), name="S block a")
        VERBS["cables.rename"](change, plant.id("D"), name="drop to flat 12")

    _run, content = print_(building(plant))

    words = " ".join(word for page in page_texts(content) for word in page).casefold()
    assert "l000001" in words
    assert not [each for each in (*ADDRESS, "GPON", "video") if each.casefold() in words]


def test_an_outlet_in_a_home_shows_its_line_and_nothing_else(plant):
    (outlet,) = box(plant, "U")

    assert (outlet.kind, outlet.texts()) == ("home_outlet", {"line": "L000001"})
    assert not KINDS[outlet.kind].has_code
    assert not outlet.needs_code


def test_the_label_of_a_terminal_says_of_which_line_it_is(plant):
    (terminal,) = box(plant, "T")

    assert terminal.texts() == {"name": "T", "line": "L000001"}


def test_cable_ends_name_the_plate_at_either_end(plant):
    with opened() as change:
        cable = VERBS["cables.lay"](
            change, name="F", a_place=plant.head_end, b_place=plant.riser, length_m=900
        )

    ends = {item.cable_end: item for item in cable_items(Cable.objects.get(pk=cable.pk))}
    a_end, b_end = ends["A"], ends["B"]

    assert (a_end.fields["near_end"], a_end.fields["far_end"]) == ("Hut", "Riser")
    assert (b_end.fields["near_end"], b_end.fields["far_end"]) == ("Riser", "Hut")


def test_where_a_name_will_not_do_cable_ends_quote_the_code_of_the_plate_even_a_new_one(plant):
    with opened() as change:
        twin = VERBS["places.add"](
            change, kind="riser cupboard", name="Riser", parent=plant.estate
        )
        VERBS["cables.lay"](change, name="F", a_place=plant.riser, b_place=twin.pk, length_m=20)

    run, _content = print_(place_items(Place.objects.get(pk=plant.estate)))

    riser, other = (Tag.objects.get(place=pk).code for pk in (plant.riser, twin.pk))
    end = run.labels.get(cable_end="A", thing=Cable.objects.get(name="F").pk)
    assert (end.fields["near_end"], end.fields["far_end"]) == (grouped(riser), grouped(other))


def test_thick_cables_get_wraps_and_thin_ones_flags(plant):
    with opened() as change:
        for name, diameter in (("THIN", "3"), ("THICK", "8")):
            VERBS["cables.lay"](
                change,
                name=name,
                a_place=plant.head_end,
                b_place=plant.riser,
                length_m=9,
                diameter_mm=Decimal(diameter),
            )

    kinds = {name: cable_items(Cable.objects.get(name=name))[0].kind for name in ("THIN", "THICK")}

    assert kinds == {"THIN": "cable_flag", "THICK": "cable_wrap"}
    assert "No diameter is recorded" in cable_items(Cable.objects.get(name="D"))[0].note


def test_a_tray_has_a_plate_with_the_code_of_its_box(plant):
    plant.grow("cable E1 5 m\ncable E2 5 m")
    with opened() as change:
        for name in ("E1", "E2"):
            VERBS["equipment.install"](change, kind="closure", place=plant.riser, name=f"K{name}")
        closure = Equipment.objects.get(name="KE1")
        spare = VERBS["cables.lay"](
            change, name="B1", a_place=plant.riser, b_place=plant.riser, length_m=1
        )
        other = VERBS["cables.lay"](
            change, name="B2", a_place=plant.riser, b_place=plant.riser, length_m=1
        )
        a, b = (Point.objects.get(passage__cable=each, side=0).pk for each in (spare, other))
        VERBS["joints.join"](change, a, b, kind="fusion", stands_in=closure.pk, tray="4")

    run, _ = print_(equipment_items(closure))

    lid, tray = run.labels.order_by("position")
    assert (lid.kind, tray.kind, tray.tray) == ("closure", "tray", "4")
    assert lid.tag == tray.tag == Tag.objects.get(equipment=closure)
    assert tray.fields == {"number": "TRAY 4", "equipment": "KE1", "size": ""}


def test_one_label_is_printed_again_with_its_code(plant):
    run, _ = print_(box(plant, "S"))
    label = run.labels.get(thing=plant["S.3"])

    again, content = print_(label_items(label), start=12)

    (only,) = again.labels.all()
    assert (only.tag, only.fields) == (label.tag, label.fields)
    assert len(read(rasterised(content, 300)[0])) == 1


def test_a_spoiled_label_is_void_and_its_thing_keeps_the_code(plant):
    run, _ = print_(box(plant, "S"))
    label = run.labels.get(thing=plant["S.3"])

    with opened() as change:
        VERBS["prints.spoil"](change, label.pk, why="smeared")

    label.refresh_from_db()
    assert label.spoiled == "smeared"
    assert Tag.objects.get(pk=label.tag_id).point_id == plant["S.3"]
    with refused("label_spoiled", "smeared") as change:
        VERBS["prints.spoil"](change, label.pk, why="again")


def test_labels_are_chosen_by_the_job_that_made_their_things(plant):
    with opened() as change:
        job = VERBS["jobs.draft"](change, name="new splitter", place=plant.riser)
    with opened(job=job.pk) as change:
        VERBS["equipment.install"](
            change,
            kind="splitter",
            place=plant.riser,
            name="S5",
            entry=Equipment.objects.get(pk=plant.id("S")).entry_id,
        )

    names = {item.name for item in job_items(Job.objects.get(pk=job.pk))}

    assert {"splitter S5", "leg 1 of S5", "leg 4 of S5"} <= names
    assert all("S5" in name for name in names)


def blanks(count, stock="die-38x19", seed=5):
    laid = runs.lay_out_blanks(count, order(stock), codes(seed))
    with opened() as change:
        return runs.record(change, laid, f"{count} blank tags")


def test_blank_tags_are_issued_and_hang_on_nothing(plant):
    run = blanks(12)

    tags = Tag.objects.filter(printed__run=run)
    assert tags.count() == 12
    assert all(tag.point_id is tag.equipment_id is None for tag in tags)
    assert all(label.fields == {} for label in run.labels.all())


def test_a_blank_tag_is_bound_once(plant):
    code = blanks(1).labels.get().tag.code

    with opened() as change:
        VERBS["tags.bind"](change, code, noun="point", thing=plant["S.2"])

    with refused("tag_bound", grouped(code), "leg 2 of S") as change:
        VERBS["tags.bind"](change, code, noun="point", thing=plant["S.3"])


def test_a_lost_roll_is_voided_but_for_what_is_bound(plant):
    run = blanks(3)
    bound, *lost = [label.tag for label in run.labels.order_by("position")]
    with opened() as change:
        VERBS["tags.bind"](change, bound.code, noun="point", thing=plant["S.2"])

    with opened() as change:
        VERBS["prints.void_blanks"](change, run.pk, why="lost on site")

    assert "voided 2 blank tags" in change.steps[0]["words"]
    assert "1 bound meanwhile stay" in change.steps[0]["words"]
    bound.refresh_from_db()
    assert bound.voided == ""
    for tag in lost:
        with refused("tag_voided", "lost on site") as again:
            VERBS["tags.bind"](again, tag.code, noun="point", thing=plant["S.3"])
    with refused("no_blank_left") as again:
        VERBS["prints.void_blanks"](again, run.pk, why="once more")


def test_a_spoiled_blank_tag_is_voided_with_it(plant):
    label = blanks(2).labels.order_by("position")[0]

    with opened() as change:
        VERBS["prints.spoil"](change, label.pk, why="torn")

    assert Tag.objects.get(pk=label.tag_id).voided == "torn"
    assert label_items(PrintedLabel.objects.get(pk=label.pk)) == []


@pytest.mark.parametrize(
    ("stock", "options", "text"),
    [
        ("A4-4x10", {"start": 41}, "has labels 1 to 40"),
        ("A4-10x27", {}, "Label 1, panel"),
        ("A4-4x10", {"file": "png"}, "is a sheet"),
    ],
)
def test_what_can_not_be_printed_leaves_no_code_and_no_record(plant, stock, options, text):
    items = box(plant, "O")

    with nothing_written(), pytest.raises((LabelRefusal, Refusal), match=re.escape(text)):
        print_([*items, *box(plant, "S")], stock, **options)


def test_a_font_without_the_glyph_prints_nothing(plant):
    with opened() as change:
        VERBS["equipment.rename"](change, plant.id("S"), name="S \N{DEVANAGARI LETTER KA}")

    with nothing_written(), pytest.raises(LabelRefusal, match="DEVANAGARI LETTER KA"):
        print_(box(plant, "S"))


def test_names_in_any_language_are_printed(plant):
    names = ("Ελληνικά", "Кириллица", "مقسم", "分光器", "Žižkov")
    for name in names:
        with opened() as change:
            VERBS["equipment.rename"](change, plant.id("S"), name=name)
        run, content = print_(box(plant, "S")[:1], "A4-3x7")
        assert run.labels.get().fields["name"] == name
        assert len(read(rasterised(content, 300)[0])) == 1


def test_who_laid_out_before_another_printed_is_refused(plant):
    laid = runs.lay_out(box(plant, "S"), order(), codes(1))
    print_(box(plant, "S"), seed=2)

    with refused("label_overtaken", "got the tag", "Look at the labels again") as change:
        runs.record(change, laid, "a test")


def test_a_label_whose_tag_was_voided_meanwhile_is_refused(plant):
    print_(box(plant, "S"))
    laid = runs.lay_out(box(plant, "S"), order(), codes(2))
    with opened() as change:
        VERBS["tags.void"](change, Tag.objects.get(point=plant["S.3"]).code, why="torn")

    with refused("label_overtaken", "lost the tag") as change:
        runs.record(change, laid, "a test")


def test_a_code_that_was_issued_meanwhile_is_refused(plant):
    laid = runs.lay_out(box(plant, "K"), order(), codes(1))
    with opened() as change:
        VERBS["tags.issue"](change, count=1, candidates=codes(1))

    with refused("label_overtaken", "was issued meanwhile") as change:
        runs.record(change, laid, "a test")


def test_history_vouches_for_what_was_printed(plant):
    run, _ = print_(building(plant), start=3, offset=Offset(-0.5, 1.25))
    with opened() as change:
        VERBS["prints.spoil"](change, run.labels.order_by("position")[0].pk, why="smeared")
        VERBS["hazards.state"](
            change, plant.riser, hazard_level="1M", assessor="A. Assessor", stated_date=AT.date()
        )

    assert chain.first_break() is None
    with pytest.raises(Error, match="no change is open"):
        PrintedLabel.objects.filter(run=run).update(texts="{}")


def test_an_empty_run_is_refused(plant):
    with nothing_written(), pytest.raises(LabelRefusal, match="no label to print"):
        print_([])


def test_pictures_of_a_roll_are_read_back(plant):
    run, content = print_(box(plant, "S"), "die-57x32", file="png")

    with ZipFile(io.BytesIO(content)) as archive:
        found = {text for name in archive.namelist() for text in read_png(archive.read(name))}
    assert {text.rpartition("/")[2] for text in found} == set(
        run.labels.values_list("tag__code", flat=True)
    )


def test_ports_of_a_fibre_end_are_the_labels_of_its_cable(plant):
    items = point_items(Point.objects.select_related("passage__cable").get(pk=plant["D.1a"]))

    assert {item.key for item in items} == {f"cable-{plant.id('D')}{end}" for end in "AB"}


def test_items_cost_no_queries_in_proportion_to_their_number(plant, django_assert_max_num_queries):
    plant.grow("\n".join(f"splitter V{number} 1:16\ncable E{number} 5 m" for number in range(5)))

    with django_assert_max_num_queries(24):
        items = building(plant)
    assert len(items) > 100

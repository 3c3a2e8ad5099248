"""Changes, the history of a thing, and the record as it stood."""

import pytest

from records.changes import bookings, equipment, joints
from records.models import Change
from tests.factories import Plant, opened, user
from tests.web.reading import PLANT, main, words


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


def before(number):
    """Return the change before one; PostgreSQL leaves out the numbers of what was rolled back."""
    return Change.objects.filter(number__lt=number).latest("number").number


@pytest.fixture
def parted(plant):
    """Return the change that parted the feeder."""
    with opened(reason="works in the street") as change:
        joints.part(change, plant.joint("O.1"))
    return change.number


def test_a_change_says_who_when_why_what_and_who_went_dark(crew, plant, parted):
    page = words(crew.get(f"/changes/{parted}/"))

    assert "Who crew" in page
    assert "When 02 Mar 2026, 09:30 UTC" in page
    assert "Why works in the street" in page
    assert "Parted PON port 1 of O from A end of fibre 1 of F, in " in page
    assert "Went dark: 2" in page
    assert "terminal port 1 of T1 (Alder Close, Block A, Flat 1)" in page
    assert "leg 1 of S (Alder Close, Block A, Riser) held" in page


def test_a_terminal_removed_since_is_still_counted(crew, plant, parted):
    with opened() as change:
        joints.part(change, plant.joint("T1"))
        equipment.remove(change, plant.id("T1"))

    page = words(crew.get(f"/changes/{parted}/"))

    assert "Went dark: 2" in page
    assert "a terminal port since removed" in page


def test_a_change_of_many_steps_comes_in_pages(crew, plant):
    with opened() as change:
        for number in range(105):
            equipment.rename(change, plant.id("S"), name=f"S-{number}")

    first = crew.get(f"/changes/{change.number}/")
    rest = crew.get(f"/changes/{change.number}/?page=2")

    assert '<ol class="steps" start="1"' in main(first)
    assert '<ol class="steps" start="101"' in main(rest)
    assert (main(first).count("Renamed "), main(rest).count("Renamed ")) == (100, 5)
    assert "101 to 105 of 105" in words(rest)


def test_the_changes_can_be_narrowed_by_person_verb_and_day(crew, plant, parted):
    other = user("other")
    with opened(actor=other) as change:
        bookings.release(change, plant["S.3"])

    by_person = words(crew.get("/changes/", {"person": other.pk}))
    by_verb = words(crew.get("/changes/", {"verb": "joints.part"}))
    by_day = words(crew.get("/changes/", {"first": "2026-03-02", "last": "2026-03-02"}))
    later = words(crew.get("/changes/", {"first": "2026-03-03"}))

    assert "released leg 3" in by_person
    assert "parted PON port" not in by_person
    assert "parted PON port" in by_verb
    assert "released leg 3" not in by_verb
    assert "released leg 3" in by_day
    assert "No change fits" in later


def test_older_changes_are_a_page_away(crew, plant):
    for _ in range(60):
        with opened() as change:
            bookings.release(change, plant["S.3"])
            bookings.book(change, plant["S.3"], line=plant.line("3"))

    first = crew.get("/changes/")
    older = first.context["older"]
    second = crew.get("/changes/", {"before": older})

    assert len(first.context["changes"]) == 50
    assert f"?before={older}" in main(first)
    assert second.context["changes"][0].number == older - 1


@pytest.mark.parametrize(
    "query",
    [{"first": "soon"}, {"last": "-1"}, {"person": "99999"}, {"verb": "sing"}, {"before": "x"}],
)
def test_a_wrong_choice_is_told_beside_its_field(crew, plant, query):
    page = crew.get("/changes/", query)

    assert page.status_code == 200
    assert page.context["form"].errors
    assert "No change fits" in words(page)


def test_numbers_beyond_all_numbers_are_answered(crew, plant):
    assert crew.get("/changes/", {"before": "9" * 40}).status_code == 200
    assert crew.get(f"/changes/{'9' * 40}/").status_code == 404
    assert crew.get(f"/history/point/{'9' * 40}/").status_code == 404
    assert crew.get(f"/points/{plant['T1']}/", {"at": "9" * 40}).status_code == 404
    assert crew.get(f"/points/{plant['T1']}/", {"at": "-1"}).status_code == 404


def test_the_history_of_a_leg_tells_its_joints_and_bookings(crew, plant, parted):
    page = words(crew.get(f"/history/point/{plant['S.1']}/"))

    assert "condition: live became held" in page
    assert "parted PON port 1 of O" in page
    assert "Began." in page


def test_the_history_of_what_was_removed_is_still_told(crew, plant):
    pk = plant.id("V")
    with opened(reason="never used") as change:
        equipment.remove(change, pk)

    page = words(crew.get(f"/history/equipment/{pk}/"))

    assert "It was removed." in page
    assert "Ended." in page
    assert "never used" in page
    assert crew.get(f"/equipment/{pk}/").status_code == 404


def test_what_was_removed_can_be_seen_as_it_stood(crew, plant):
    pk = plant.id("V")
    before = Change.objects.latest("number").number
    with opened() as change:
        equipment.remove(change, pk)

    page = crew.get(f"/equipment/{pk}/", {"at": before})

    assert page.status_code == 200
    assert f"As it stood after change {before}" in words(page)
    assert "4 spare" in words(page)


def test_the_light_of_the_past_is_shown_as_it_was(crew, plant, parted):
    now = crew.get(f"/points/{plant['T1']}/")
    then = crew.get(f"/points/{plant['T1']}/", {"at": before(parted)})

    assert "No light reaches this point" in words(now)
    assert "Fed by leg 1 of S" in words(then)


def test_the_past_is_asked_for_by_its_day_and_its_links_stay_there(crew, plant, parted):
    page = crew.get(f"/places/{plant.building}/", {"at": "2026-03-02"})
    below = crew.get(f"/below/point/{plant['O.1']}/", {"at": before(parted)})
    found = crew.get("/find", {"q": "flat 1", "at": before(parted)})

    assert f"As it stood after change {parted}" in words(page)
    assert f'href="/points/{plant["S.1"]}/?at=2026-03-02"' in page.content.decode()
    assert "Flat 2" in words(below)
    assert f'href="/places/{plant.flat("1")}/?at={before(parted)}"' in found.content.decode()


def test_the_future_can_not_be_asked(crew, plant):
    page = crew.get(f"/places/{plant.building}/", {"at": "2999-01-01"})

    assert page.status_code == 404
    assert "There is no record of 2999-01-01 yet: that is in the future." in words(page)


def test_the_past_offers_no_verbs(crew, plant, parted):
    for page in (f"/points/{plant['S.1']}/", f"/equipment/{plant.id('S')}/"):
        assert "/do/" in main(crew.get(page))
        assert "/do/" not in main(crew.get(page, {"at": parted}))


def test_the_history_of_a_building_tells_what_happened_inside_it(crew, plant, parted):
    leg_of_riser = plant["S.3"]
    with opened(actor=user("other"), reason="put off") as change:
        bookings.release(change, leg_of_riser)
        bookings.bar(change, leg_of_riser, why="dirty")
    address = f"/history/place/{plant.building}/"

    everything = words(crew.get(address))
    by_other = words(crew.get(address, {"person": user("other").pk}))
    barred = words(crew.get(address, {"verb": "bookings.bar"}))
    of_flat = words(crew.get(f"/history/place/{plant.flat('3')}/"))

    assert "parted PON port 1 of O" in everything  # the feeder leads to its riser
    assert "put off" in everything
    assert "put off" in by_other
    assert "parted" not in by_other
    assert "put off" in barred  # one verb of several
    assert "parted" not in barred
    assert "put off" in of_flat  # its line lost its leg
    assert "No change fits" in words(crew.get(address, {"first": "2026-03-03"}))


def test_a_thing_that_moved_is_told_by_the_names_of_places(crew, plant):
    with opened() as change:
        equipment.move(change, plant.id("V"), place=plant.head_end)

    page = words(crew.get(f"/history/equipment/{plant.id('V')}/"))

    assert "place: Alder Close, Block A, Riser became Alder Close, Hut" in page


@pytest.mark.parametrize("noun", ["place", "equipment", "point", "cable", "line"])
def test_every_noun_has_a_history(crew, plant, noun, django_assert_max_num_queries):
    things = {
        "place": plant.building,
        "equipment": plant.id("S"),
        "point": plant["S.1"],
        "cable": plant.id("F"),
        "line": plant.line("1"),
    }
    with django_assert_max_num_queries(28):
        page = crew.get(f"/history/{noun}/{things[noun]}/")

    assert "Began." in words(page)


def test_only_nouns_of_the_record_have_a_history(crew, plant):
    assert crew.get("/history/user/1/").status_code == 404
    assert crew.get("/history/point/987654/").status_code == 404

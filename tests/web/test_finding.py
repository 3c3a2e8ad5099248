"""The first page and the one box that finds anything."""

import pytest
from django.test import Client

from records.changes import places, tags
from records.models.tag_code import candidate, grouped
from records.queries import contents
from records.queries.find import find
from tests.factories import Plant, opened, user
from tests.web.reading import PLANT, main, words

BLANK, BOUND, VOIDED, UNKNOWN = [
    code for code in map(candidate, range(2 * 10**10, 3 * 10**10, 123_456_789)) if code
][:4]


@pytest.fixture
def plant(db):
    plant = Plant(PLANT)
    with opened() as change:
        tags.issue(change, count=3, candidates=[BLANK, BOUND, VOIDED])
        tags.bind(change, BOUND, noun="point", thing=plant["S.2"])
        tags.void(change, VOIDED, why="sticker torn")
    return plant


def test_the_first_page_says_what_the_record_holds_and_what_changed_last(crew, plant):
    page = words(crew.get("/"))

    assert "Alder Close estate, 3 dwellings" in page
    assert "4 spare 1 held 2 live 0 onward 1 barred" in page
    assert "issued 3 tags" in page


def test_the_first_page_of_an_empty_record_says_how_to_begin(crew):
    assert "Nothing yet. Take in a spreadsheet" in words(crew.get("/"))


def test_the_first_page_of_a_large_network_counts_legs_only_when_asked(crew, plant, monkeypatch):
    monkeypatch.setattr(contents, "LARGE", 1)

    assert "Count the legs" in words(crew.get("/"))
    assert "2 live" in words(crew.get("/?count=legs"))


def test_what_is_found_is_grouped_and_a_dwelling_says_which_leg_is_its(crew, plant):
    page = words(crew.get("/find", {"q": "2 flat alder"}))

    assert "Places Alder Close, Block A, Flat 2 flat live leg 2 of S" in page
    assert "Equipment" in page


def test_the_last_word_may_be_unfinished_where_none_is_meant_whole(crew, plant):
    # 'a' alone begins Alder too, so it would find all of the estate.
    assert "Block A building" in words(crew.get("/find", {"q": "block a"}))
    assert "Hut" not in words(crew.get("/find", {"q": "block a"}))
    assert "Block A building" in words(crew.get("/find", {"q": "alder bloc"}))


def test_words_that_stand_together_come_before_the_same_words_apart(db):
    plant = Plant()
    with opened() as change:
        floor = places.add(change, kind="floor", name="Floor 1", parent=plant.building).pk
        places.add(change, kind="flat", name="Flat 9", parent=floor)
        ground = places.add(change, kind="floor", name="Ground floor", parent=plant.building).pk
        places.add(change, kind="flat", name="Flat 1", parent=ground)

    assert [each.title.rpartition(", ")[2] for each in find("flat 1")] == ["Flat 1", "Flat 9"]


def test_a_port_is_found_by_its_number_and_its_equipment(crew, plant):
    page = main(crew.get("/find", {"q": "S leg 3"}))

    assert f'href="/points/{plant["S.3"]}/"' in page


@pytest.mark.parametrize(
    ("typed", "named"),
    [
        ("S 3", ["S.3"]),
        ("leg 3 of S", ["S.3"]),
        ("S leg3", ["S.3"]),
        ("O 1", ["O.1"]),
        ("leg 3", ["S.3", "V.3"]),
        ("leg3", ["S.3", "V.3"]),
    ],
)
def test_a_port_is_found_however_its_number_is_written(plant, typed, named):
    assert {each.id for each in find(typed) if each.noun == "point"} == {plant[n] for n in named}


def test_letters_and_digits_are_parted_where_no_name_has_them_together(plant):
    assert find("flat2")[0].title == "Alder Close, Block A, Flat 2"
    assert [each.title for each in find("D1")] == [each.title for each in find("d1")] != []
    assert "D1" in find("D1")[0].title


def test_words_that_are_known_together_cost_no_more_queries(plant, django_assert_max_num_queries):
    with django_assert_max_num_queries(6):  # the words, then each noun and its addresses
        assert find("flat 2")


def test_a_code_typed_wrong_is_told_as_such(crew, plant):
    wrong = BOUND[:-1] + next(each for each in "23456789" if each != BOUND[-1])

    for written in (grouped(wrong), wrong.lower()):
        page = words(crew.get("/find", {"q": written}))
        assert f"{grouped(wrong)} is not a tag code: its check character does not fit." in page
        assert "Nothing is called" not in page

    assert "Nothing is called" in words(crew.get("/find", {"q": "basement"}))


def test_while_typing_only_what_is_found_is_sent(crew, plant):
    part = crew.get("/find", {"q": "flat 2"}, headers={"HX-Request": "true"})

    assert "Flat 2" in words(part)
    assert "<html" not in part.content.decode()


def test_finding_works_as_a_plain_form(crew, plant):
    page = main(crew.get("/find", {"q": "flat 2"}))

    assert '<form role="search" action="/find"' in page
    assert 'value="flat 2"' in page


def test_nothing_found_says_what_to_do(crew, plant):
    assert "Use fewer words" in words(crew.get("/find", {"q": "no such thing"}))


@pytest.mark.parametrize(
    "text", ["", "   ", "\x00", '"', "'; --", "*", "a" * 5000, "\ufffd", "<b>"]
)
def test_any_text_is_answered(crew, plant, text):
    page = crew.get("/find", {"q": text})

    assert page.status_code == 200
    assert "<b>" not in main(page).replace("<b>0", "")


@pytest.mark.parametrize(
    "written",
    [BOUND, grouped(BOUND), BOUND.lower(), f"HTTPS://LEGBOOK.EXAMPLE/T/{BOUND}"],
)
def test_a_code_leads_straight_to_the_thing_its_tag_hangs_on(crew, plant, written):
    answer = crew.get("/find", {"q": written})

    assert answer.headers["Location"] == f"/points/{plant['S.2']}/"


@pytest.mark.parametrize("path", ["/T/{}", "/t/{}"])
def test_a_scan_leads_to_the_thing_whatever_the_case(crew, plant, path):
    for written in (BOUND, BOUND.lower(), grouped(BOUND)):
        answer = crew.get(path.format(written))
        assert answer.headers["Location"] == f"/points/{plant['S.2']}/"


def test_a_scan_by_a_stranger_leads_to_the_sign_in_and_tells_nothing(plant):
    for code in (BOUND, BLANK, VOIDED, UNKNOWN, "NONSENSE"):
        answer = Client().get(f"/T/{code}")
        assert answer.status_code == 302
        assert answer.headers["Location"] == f"/sign-in?next=/T/{code}"


def test_after_the_sign_in_a_scan_goes_on_to_the_thing(plant):
    someone = user("scanner")
    someone.set_password("invented-for-the-test")
    someone.save()

    answer = Client().post(
        "/sign-in",
        {
            "username": "scanner",
            "password": "invented-for-the-test",
            "next": f"/T/{BOUND}",
        },
        follow=True,
        REMOTE_ADDR="192.0.2.7",
    )

    assert [address for address, _ in answer.redirect_chain] == [
        f"/T/{BOUND}",
        f"/points/{plant['S.2']}/",
    ]


@pytest.mark.parametrize(
    ("code", "answered"),
    [
        (BLANK, (200, "This tag is blank: it hangs on nothing yet.")),
        (VOIDED, (200, "This tag is voided: sticker torn.")),
        (UNKNOWN, (404, "No tag of this code was ever issued here.")),
        (BOUND[:-1] + BOUND[-2], (404, "Scan it again")),
        ("7K3M", (404, "A tag code has 8 characters")),
        ("UUUUUUUU", (404, "Character 1 is U")),
    ],
)
def test_a_scan_that_leads_nowhere_says_what_to_do(crew, plant, code, answered):
    status, said = answered

    answer = crew.get(f"/T/{code}")

    assert answer.status_code == status
    assert said in words(answer)


def test_a_blank_tag_offers_to_be_bound(crew, plant):
    assert f"/do/tags.bind/?code={grouped(BLANK)}" in main(crew.get(f"/T/{BLANK}"))


def test_the_page_of_a_bound_tag_says_what_it_hangs_on_and_how_to_say_it(crew, plant):
    page = words(crew.get(f"/tags/{BOUND}/"))

    assert "hangs on leg 2 of S (Alder Close, Block A, Riser)" in page
    assert "Said over the phone" in page


def test_a_wrong_password_says_so_and_lets_no_one_in(plant):
    someone = user("careless")
    someone.set_password("invented-for-the-test")
    someone.save()

    answer = Client().post(
        "/sign-in", {"username": "careless", "password": "wrong"}, REMOTE_ADDR="192.0.2.8"
    )

    assert answer.status_code == 200
    assert 'role="alert"' in answer.content.decode()


def test_signing_out_ends_at_the_sign_in(crew):
    answer = crew.post("/sign-out")

    assert answer.headers["Location"] == "/sign-in"
    assert crew.get("/").status_code == 302

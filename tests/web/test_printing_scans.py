"""Scans: by the phone's camera, on the scanner page, typed; one label, or two in a row."""

import random
import re

import pytest
from django.conf import settings

from records.changes import VERBS
from records.models import Sighting, Tag
from records.models.tag_code import ALPHABET, NUMBER_COUNT, candidate, check_symbol, grouped
from tests.factories import Plant, opened
from tests.unchanged import nothing_written

pytestmark = pytest.mark.django_db

PLANT = """
    olt O x2
    splitter S 1:4
    splitter V 1:4
    closure K
    cable D 30 m x4
    outlet U @12
    terminal T @12
    flat 14
    bar S.4 broken tail
"""


@pytest.fixture(scope="module")
def plant_of_all(once):
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    return plant_of_all.copied()


def codes(seed=3):
    draw = random.Random(seed)
    while True:
        code = candidate(draw.randrange(NUMBER_COUNT))
        if code is not None:
            yield code


def tag(noun="", thing=0, end="", seed=3):
    """Return the code of a fresh tag, bound where a thing is named."""
    with opened() as change:
        (fresh,) = VERBS["tags.issue"](change, count=1, candidates=codes(seed))
        if noun:
            VERBS["tags.bind"](change, fresh.code, noun=noun, thing=thing, cable_end=end)
    return fresh.code


def read(crew, text, first=""):
    return crew.post("/scan/", {"text": text, "first": first})


def actions(answer):
    return {action.label: action.url for action in answer.context["actions"]}


def fault(answer):
    return answer.context["fault"]


# --- The phone's own camera ----------------------------------------------------------------


def test_the_camera_of_a_phone_leads_to_the_thing_and_the_label_counts_as_seen(crew, plant):
    code = tag("point", plant["S.3"])

    answer = crew.get(f"/T/{code}")

    assert answer["Location"] == f"/points/{plant['S.3']}/"
    assert Sighting.objects.get().tag.code == code


def test_a_scan_of_a_label_gone_wrong_says_so(crew, plant):
    page = crew.get("/labels/print", {"equipment": plant.id("S")})
    crew.post(
        "/labels/print",
        {
            "equipment": plant.id("S"),
            "what": ["leg"],
            "item": [f"point-{plant['S.3']}"],
            "stock": "A4-4x10",
            "start": "1",
            "file": "pdf",
            "shown": ["equipment"],
            "token": page.context["token"],
        },
    )
    code = Tag.objects.get().code
    with opened() as change:
        VERBS["equipment.rename"](change, plant.id("S"), name="S-new")

    by_camera = crew.get(f"/T/{code}", follow=True).content.decode()
    on_page = read(crew, code).content.decode()

    for page in (by_camera, on_page):
        assert "has gone wrong" in page
        assert "ox: it says “S”, now “S-new”" in page


def test_a_stranger_who_scans_learns_nothing(client, plant):
    code = tag("point", plant["S.3"])

    answer = client.get(f"/T/{code}")

    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in")
    assert not Sighting.objects.exists()


# --- The scanner page ----------------------------------------------------------------------


def test_one_label_leads_to_its_thing(crew, plant):
    code = tag("point", plant["S.3"])

    answer = read(crew, f"HTTPS://{settings.LEGBOOK_HOST}/T/{code}".upper())

    assert "leg 3 of S" in answer.content.decode()
    assert actions(answer)["Open its page"] == f"/points/{plant['S.3']}/"
    assert answer.context["first"] == grouped(code)
    assert Sighting.objects.get().tag.code == code


@pytest.mark.parametrize("typed", [str.lower, grouped, lambda code: f"  {code[:2]} {code[2:]} "])
def test_typed_codes_are_forgiven_case_spaces_and_hyphens(crew, plant, typed):
    code = tag("point", plant["S.3"])

    assert read(crew, typed(code)).context["one"].thing.pk == plant["S.3"]


def test_look_alikes_are_read_as_what_they_look_like(crew, plant):
    code = next(code for code in codes(8) if "0" in code and "1" in code)
    with opened() as change:
        VERBS["tags.issue"](change, count=1, candidates=[code])
        VERBS["tags.bind"](change, code, noun="point", thing=plant["S.3"])

    answer = read(crew, code.replace("0", "O").replace("1", "l"))

    assert answer.context["one"].thing.pk == plant["S.3"]


def test_each_one_character_error_is_caught_and_said(crew, plant):
    code = tag("point", plant["S.3"])

    for place in range(len(code)):
        wrong = ALPHABET[(ALPHABET.index(code[place]) + 1) % len(ALPHABET)]
        answer = read(crew, code[:place] + wrong + code[place + 1 :])
        assert "check character does not fit" in fault(answer)


def test_what_is_wrong_with_a_typed_code_is_said(crew):
    assert "8 characters" in fault(read(crew, "7K3M"))
    assert "is U, which no tag code has" in fault(read(crew, "7K3MU9QX"))


def never_issued():
    payload = "7K3M9QX"
    assert check_symbol(payload) in ALPHABET
    return payload + check_symbol(payload)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("https://tags.example.org/t/7K3M9QX8", "not a tag of this record"),
        ("WIFI:S:site;T:WPA;P:secret;;", "not a tag of this record"),
        (never_issued(), "ever issued here"),
    ],
)
def test_a_foreign_code_is_refused_and_seen_by_no_one(crew, plant, text, said):
    with nothing_written():
        answer = read(crew, text)

    assert said in fault(answer)


def test_a_voided_tag_is_refused(crew, plant):
    code = tag("point", plant["S.3"])
    with opened() as change:
        VERBS["tags.void"](change, code, why="torn off")

    answer = read(crew, code)

    assert "is voided: torn off" in fault(answer)


def test_a_wrong_second_keeps_the_first(crew, plant):
    first = tag("point", plant["S.3"])

    answer = read(crew, "7K3M", first)

    assert answer.context["one"].thing.pk == plant["S.3"]
    assert f'value="{grouped(first)}"' in answer.content.decode()


def test_labels_of_an_older_host_are_known(crew, plant):
    code = tag("point", plant["S.3"])
    form = {
        "host": "OLD.EXAMPLE",
        "smallest_module_mm": "0.35",
        "language": "en",
        "has_upper_case_link": "on",
    }
    crew.post("/labels/rules", form)
    crew.post("/labels/rules", form | {"host": "NEW.EXAMPLE"})

    assert read(crew, f"HTTPS://OLD.EXAMPLE/T/{code}").context["one"].thing.pk == plant["S.3"]


# --- Two in a row --------------------------------------------------------------------------


def pair(crew, one, other):
    return actions(read(crew, other, first=one))


def test_two_points_in_a_row_are_offered_to_join_and_patch(crew, plant):
    one, other = tag("point", plant["S.3"]), tag("point", plant["V.in"], seed=4)

    offered = pair(crew, one, other)

    query = f"a={plant['S.3']}&b={plant['V.in']}"
    assert offered == {"Join": f"/do/joints.join/?{query}", "Patch": f"/do/joints.patch/?{query}"}
    page = crew.get(offered["Patch"])
    assert page.context["effect"].words[0].startswith("patched leg 3 of S to input 1 of V")


def test_the_form_that_a_pair_leads_to_records_the_joint(crew, plant):
    one, other = tag("point", plant["S.3"]), tag("point", plant["V.in"], seed=4)
    page = crew.get(pair(crew, one, other)["Join"])

    done = crew.post(
        "/do/joints.join/",
        {**page.context["form"].data.dict(), "kind": "mated", "token": page.context["token"]},
    )

    assert done.status_code == 302
    assert plant.joint("S.3")


def test_a_leg_and_a_flats_outlet_are_offered_to_book(crew, plant):
    leg, outlet = tag("point", plant["S.3"]), tag("equipment", plant.id("U"), seed=4)

    for one, other in ((leg, outlet), (outlet, leg)):
        offered = pair(crew, one, other)
        booking = next(
            url for label, url in offered.items() if label.startswith("Book leg 3 of S")
        )
        assert booking == f"/do/bookings.book/?leg={plant['S.3']}&line={plant.line('12')}"


def test_the_identifier_on_an_outlet_may_be_typed(crew, plant):
    leg = tag("point", plant["S.3"])

    offered = pair(crew, leg, "l000001")

    assert list(offered) == ["Book leg 3 of S for line L000001"]


def test_a_barred_leg_is_not_offered_to_book(crew, plant):
    leg, outlet = tag("point", plant["S.4"]), tag("equipment", plant.id("U"), seed=4)

    assert not [label for label in pair(crew, leg, outlet) if label.startswith("Book")]


def test_the_end_of_a_cable_stands_for_its_fibres(crew, plant):
    leg, end = tag("point", plant["S.3"]), tag("cable", plant.id("D"), "A", seed=4)

    offered = pair(crew, leg, end)

    assert len(offered) == 4
    assert any(re.search(r"A end of fibre 2 of D", label) for label in offered)


def test_what_is_joined_already_is_said(crew, plant):
    plant.grow("O.1 = S")
    port, other = tag("point", plant["O.1"]), tag("point", plant["V.in"], seed=4)

    answer = read(crew, other, first=port)

    assert "PON port 1 of O is joined already" in answer.content.decode()
    assert actions(answer) == {
        "Open PON port 1 of O": f"/points/{plant['O.1']}/",
        "Open input 1 of V": f"/points/{plant['V.in']}/",
    }


def test_a_label_read_twice_is_one_label(crew, plant):
    code = tag("point", plant["S.3"])

    answer = read(crew, code, first=code)

    assert "Open its page" in actions(answer)


def test_after_two_labels_the_next_is_a_first_again(crew, plant):
    one, other = tag("point", plant["S.3"]), tag("point", plant["V.in"], seed=4)

    answer = read(crew, other, first=one)

    assert 'id="first" name="first" form="type-it" value=""' in answer.content.decode()
    assert f"first={grouped(one)}" in answer.content.decode()


# --- Blank tags ----------------------------------------------------------------------------


def test_a_blank_tag_asks_what_it_hangs_on(crew, plant):
    code = tag()

    answer = read(crew, code)

    assert actions(answer)["Bind it"] == f"/do/tags.bind/?code={grouped(code)}"


def test_a_blank_tag_and_a_thing_in_a_row_are_bound(crew, plant):
    blank, old = tag(), tag("point", plant["S.3"], seed=4)

    for one, other in ((blank, old), (old, blank)):
        (address,) = pair(crew, one, other).values()
        page = crew.get(address)
        assert page.context["effect"].words == (
            f"bound tag {grouped(blank)} to leg 3 of S (Alder Close, Block A, Riser)",
        )

    crew.post(
        "/do/tags.bind/", {**page.context["form"].data.dict(), "token": page.context["token"]}
    )
    assert Tag.objects.get(code=blank).point_id == plant["S.3"]


def test_a_blank_tag_and_the_end_of_a_cable_are_bound_to_that_end(crew, plant):
    blank, old = tag(), tag("cable", plant.id("D"), "B", seed=4)

    (address,) = pair(crew, blank, old).values()

    assert "cable_end=B" in address
    assert "B end of D" in crew.get(address).context["effect"].words[0]


def test_two_blank_tags_have_nothing_to_do_with_each_other(crew, plant):
    one, other = tag(), tag(seed=4)

    answer = read(crew, other, first=one)

    assert actions(answer) == {}
    assert "Both tags are blank" in answer.content.decode()


# --- The page itself -----------------------------------------------------------------------


def test_the_scanner_page_alone_may_compile_its_decoder(crew):
    scanner = crew.get("/scan/").headers["Content-Security-Policy"]
    other = crew.get("/labels/").headers["Content-Security-Policy"]

    assert "script-src 'self' 'wasm-unsafe-eval'" in scanner
    assert "wasm" not in other


def test_the_decoder_is_served_from_here(crew):
    page = crew.get("/scan/").content.decode()

    assert 'src="/static/records/zxing/zxing_reader.js"' in page
    wasm = crew.get("/static/records/zxing/zxing_reader.wasm")
    assert wasm["Content-Type"] == "application/wasm"
    assert wasm.getvalue()[:4] == b"\0asm"


def test_a_look_at_the_scanner_page_notes_nothing(crew, plant):
    code = tag("point", plant["S.3"])

    with nothing_written():
        crew.get("/scan/", {"text": code})
        crew.get("/scan/", {"first": code})


def test_what_the_camera_sends_is_answered_in_part(crew, plant):
    code = tag("point", plant["S.3"])

    answer = crew.post("/scan/", {"text": code}, headers={"HX-Request": "true"})

    assert answer.content.decode().lstrip().startswith('<section id="scanned"')

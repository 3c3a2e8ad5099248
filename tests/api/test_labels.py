"""Labels by requests: look, print, reprint, spoil, void; rules and stock; how labels stand."""

import base64
import io

import pytest
from PIL import Image

from records.changes import VERBS
from records.models import Change, PrintedLabel, PrintRun, Tag
from records.models.tag_code import grouped
from tests.api.asking import told
from tests.factories import opened
from tests.labels.readers import page_texts, rasterised, read


@pytest.fixture(autouse=True)
def _quiet(plant):
    """Every test asks about the same plant."""


def print_(api, status=201, path="labels", **asked):
    answer = api.post(f"print-runs/{path}/", asked)
    assert answer.status_code == status, answer.content
    return answer.json()


def test_a_look_shows_a_page_and_prints_nothing(api, plant):
    before = Change.objects.count()

    look = api.post(
        "print-runs/labels/?preview=true", {"noun": "equipment", "thing": plant.id("S")}
    ).json()

    assert (look["label_count"], look["new_code_count"], look["page_count"]) == (6, 6, 1)
    assert look["picture"].startswith("<svg")
    assert Change.objects.count() == before


def test_labels_are_printed_and_their_file_is_read_and_the_same_each_time(api, plant):
    made = print_(api, noun="equipment", thing=plant.id("S"), choose="all", sorts=["leg"])

    (run,) = made["things"]
    first, again = (api.get(f"print-runs/{run['id']}/file/") for _ in range(2))
    assert first["Content-Type"] == "application/pdf"
    assert first.content == again.content
    codes = Tag.objects.filter(point__equipment=plant.id("S")).values_list("code", flat=True)
    found = {text.rpartition("/")[2] for text in read(rasterised(first.content, 300)[0])}
    assert found == set(codes)
    assert api.read(f"print-runs/{run['id']}/")["label_count"] == 4
    labels = api.read("printed-labels/", run=run["id"])["results"]
    assert labels[0]["fields_shown"] == {"number": "1", "equipment": "S"}


def test_what_was_printed_needs_no_printing(api, plant):
    print_(api, noun="equipment", thing=plant.id("S"))

    refused = api.post("print-runs/labels/", {"noun": "equipment", "thing": plant.id("S")})

    assert told(refused, 422, "labels_none")["hint"]


def test_one_key_prints_once(api, plant):
    asked = {"noun": "equipment", "thing": plant.id("S")}

    answers = [
        api.post("print-runs/labels/", asked, Idempotency_Key="k1").json() for _ in range(2)
    ]

    assert answers[0] == answers[1]
    assert PrintRun.objects.count() == 1


def test_single_labels_are_printed_by_their_keys(api, plant):
    listed = api.read(f"places/{plant.building}/labels/", state="missing")["labels"]
    key = next(each["key"] for each in listed if each["name"] == "leg 2 of S")

    made = print_(api, noun="place", thing=plant.building, keys=[key])

    assert made["words"] == ["printed 1 label of Alder Close, Block A"]
    wrong = api.post(
        "print-runs/labels/", {"noun": "place", "thing": plant.building, "keys": ["leg-0"]}
    )
    assert told(wrong, 422, "malformed")["field"] == "keys"


def test_blank_tags_are_printed_spoiled_and_voided(api):
    (run,) = print_(api, path="blank-tags", count=3)["things"]
    first = PrintedLabel.objects.get(run=run["id"], position=1)

    api.do("prints.spoil", label=first.pk, why="torn")
    api.do("prints.void_blanks", run=run["id"], why="roll lost")

    assert set(Tag.objects.values_list("voided", flat=True)) == {"torn", "roll lost"}
    assert api.read("printed-labels/", run=run["id"], spoiled="true")["count"] == 3


def test_many_tags_are_bound_at_once(api, plant):
    print_(api, path="blank-tags", count=2)
    codes = [grouped(tag.code) for tag in Tag.objects.all()]

    api.do(
        "tags.bind_all",
        bindings=[
            {"code": codes[0], "noun": "point", "thing": plant["S.3"]},
            {"code": codes[1], "noun": "cable", "thing": plant.id("D"), "cable_end": "A"},
        ],
    )

    assert not Tag.objects.filter(point=None, cable=None).exists()


def test_one_tag_is_said_to_be_one(api):
    done = api.do("tags.issue", count=1)

    assert done["words"] == ["issued 1 tag"]


def test_what_can_not_be_printed_is_refused_with_the_figure(api, plant):
    asked = {"noun": "equipment", "thing": plant.id("S")}

    for more, code, text in (
        ({"stock": "A4-4x10", "start": 41}, "label_stock", "labels 1 to 40"),
        ({"stock": "A4-4x10", "file": "png"}, "label_pictures", "Pictures are for rolls"),
        ({"right_mm": 40}, "label_stock", "no printer's offset"),
        ({"down_mm": 1e30}, "label_stock", "no printer's offset"),
        ({"stock": "A9"}, "malformed", "no such stock"),
        ({"thing": 999_999}, "missing", "no equipment number 999999"),
    ):
        answer = api.post("print-runs/labels/", asked | more)
        assert text in told(answer, answer.status_code, code)["detail"]

    assert not Tag.objects.exists()


def test_a_rename_shows_in_the_labels_of_its_place(api, plant):
    print_(api, noun="equipment", thing=plant.id("S"))
    api.do("equipment.rename", equipment=plant.id("S"), name="S-new")

    stood = api.read(f"places/{plant.building}/labels/", state="stale")

    assert stood["coverage"]["stale"] == len(stood["labels"]) == 6
    assert stood["labels"][1]["why"] == ["box: it says “S”, now “S-new”"]
    assert api.read(f"places/{plant.building}/labels/", seen="false")["labels"]


def test_the_rules_are_settled_once_they_are_known_to_work(api):
    rules = api.client.put(
        "/api/label-rules/",
        {"host": "LB.EXAMPLE", "smallest_module_mm": 0.4, "language": "en-AU"},
        content_type="application/json",
        headers=api.headers,
    )
    assert rules.json() == api.read("label-rules/")
    assert rules.json()["link"] == "HTTP://LB.EXAMPLE/T/00000000"

    for fields, code in (
        ({"host": "no host", "smallest_module_mm": 0.4}, "label_link"),
        ({"host": "LB.EXAMPLE", "smallest_module_mm": 1e30}, "label_wrong"),
    ):
        wrong = api.client.put(
            "/api/label-rules/",
            fields | {"language": "en"},
            content_type="application/json",
            headers=api.headers,
        )
        assert told(wrong, 422, code)


def test_a_pictogram_of_ones_own_comes_back_as_it_was_taken_in(api):
    stream = io.BytesIO()
    picture = Image.new("1", (80, 80), 1)
    picture.paste(0, (10, 10, 70, 70))
    picture.save(stream, "PNG")
    fields = {"host": "LB.EXAMPLE", "smallest_module_mm": 0.4, "language": "en-US"}

    def put(**sign):
        return api.client.put(
            "/api/label-rules/",
            fields | sign,
            content_type="application/json",
            headers=api.headers,
        )

    put(pictogram="own", picture=base64.b64encode(stream.getvalue()).decode())

    held = api.read("label-rules/")
    assert held["pictogram"] == "own"
    assert put(pictogram="own", picture=held["picture"]).json() == held
    for sign, code in (
        ({"pictogram": "own", "picture": "QUJD"}, "label_pictogram"),
        ({"pictogram": "own"}, "malformed"),
        ({"pictogram": "triangle", "picture": held["picture"]}, "malformed"),
    ):
        assert told(put(**sign), 422, code)
    assert put(pictogram="triangle").json()["picture"] == ""


def test_the_neutral_sheets_of_a_place_come_in_one_file(api, plant):
    answer = api.get(f"places/{plant.building}/neutral-sheets/")

    assert answer["Content-Type"] == "application/pdf"
    assert "Riser" in page_texts(answer.content)[0]
    with opened() as change:
        empty = VERBS["places.add"](change, kind="estate", name="Empty")
    assert told(api.get(f"places/{empty.pk}/neutral-sheets/"), 422, "labels_none")


def test_stock_of_ones_own_is_described_and_forgotten(api):
    measures = {"media_mm": 18, "label_width_mm": 60, "label_height_mm": 15, "dpi": 300}
    asked = {"name": "ours", "shape": "tape", "measures": measures}

    stock = api.post("label-stock/", asked, Idempotency_Key="k1").json()
    assert api.post("label-stock/", asked, Idempotency_Key="k1").json() == stock

    assert api.read("label-stock/")["ours"]["label_width_mm"] == 60
    assert api.read(f"own-stock/{stock['id']}/")["measures"]["dpi"] == 300
    wrong = api.post("label-stock/", asked | {"name": "x", "measures": {"media_mm": 1}})
    assert "it lacks label_width_mm" in told(wrong, 422, "label_stock")["detail"]
    api.do("label_rules.forget_stock", stock=stock["id"])
    assert "ours" not in api.read("label-stock/")


def test_offsets_and_hazard_statements_are_kept(api, plant):
    api.do("label_rules.nudge", printer="office", stock="A4-5x13", right_mm=0.5, down_mm=-1)
    api.do(
        "hazards.state",
        place=plant.riser,
        hazard_level="1M",
        assessor="A. B.",
        stated_date="2026-02-01",
    )
    statement = api.read("hazard-statements/", place=plant.riser)["results"][0]

    api.do("hazards.withdraw", statement=statement["id"], why="switched off")

    assert api.read("printer-offsets/")["results"][0]["right_mm"] == "0.50"
    assert statement["hazard_level"] == "1M"
    assert api.read("hazard-statements/", standing="true")["count"] == 0

"""A wrong value is answered with the field, the value and what is allowed; never with a fault."""

import json
from typing import Any

import pytest
from django.contrib.auth import get_user_model

from api.bodies import BODY_MAX
from api.directory import NOUNS
from api.verbs import SHAPES
from records.models import Change
from tests.api.asking import address_of, told

HUGE = 10**400

NASTY = [
    None, True, "", " ", "\x00", "NaN", "x" * 3000, -1, 0, 1.5, 2**63, 2**31, HUGE,
    [], {}, [1], {"a": 1}, "1e999", "٣", "' OR 1=1 --", "<script>",
]  # fmt: skip
"""Values that break careless code."""


@pytest.mark.parametrize("verb", SHAPES)
def test_no_value_of_any_argument_breaks_a_verb(api, plant, verb):
    get_user_model().objects.update(is_superuser=True)  # some verbs hear owners only
    fields = SHAPES[verb]().fields
    example = SHAPES[verb].example
    for name in fields:
        for value in NASTY:
            given: dict[str, Any] = {**example, str(name): value}
            answer = api.post(f"{address_of(verb)}?preview=true", given)

            assert answer.status_code in {200, 404, 409, 422}, (name, value, answer.content)
            if answer.status_code != 200:
                problem = answer.json()
                assert problem["detail"]
                assert problem["hint"]


@pytest.mark.parametrize("text", ['{"loss_db": NaN, "joint": 1}', '{"loss_db": -Infinity}'])
def test_numbers_that_json_does_not_know_are_unreadable(api, text):
    problem = told(api.post(address_of("joints.measure"), text), 400, "unreadable")

    assert "is not a number, under loss_db." in problem["detail"]


def test_a_number_too_large_for_a_float_is_a_wrong_value(api):
    text = '{"loss_db": 1e999, "joint": 1}'

    (error,) = told(api.post(address_of("joints.measure"), text), 422, "malformed")["errors"]

    assert error == {
        "field": "loss_db",
        "value": "inf",
        "detail": "It is not a number such as 12.5.",
        "allowed": "a number such as 12.5",
    }


@pytest.mark.parametrize(
    "text",
    ["{", "", "[" * 30_000, '{"a": 1, "a": 2}', "{'a': 1}", "nul", '{"a": ' + "9" * 5000 + "}"],
)
def test_a_broken_body_is_unreadable(api, text):
    answer = api.post(address_of("joints.measure"), text)

    assert answer.status_code in {400, 422}
    told(answer, *((400, "unreadable") if text else (422, "malformed")))


def test_half_a_character_is_unreadable(api):
    for text in ('{"name": "\\ud800"}', '{"\\udfff": 1}'):
        told(api.post(address_of("places.add"), text), 400, "unreadable")


def test_a_body_in_another_character_set_is_unreadable(api):
    body = '{"name": "Zürich"}'.encode("latin-1")

    told(api.post(address_of("places.add"), body), 400, "unreadable")


@pytest.mark.parametrize("body", [[], [1], "x", 1, None, True])
def test_a_body_that_is_no_object_is_a_wrong_value(api, body):
    answer = api.post(address_of("joints.measure"), json.dumps(body))

    (error,) = told(answer, 422, "malformed")["errors"]
    assert (error["field"], error["allowed"]) == ("body", "a JSON object")


@pytest.mark.parametrize("size", [BODY_MAX + 1, 10_000_000])
def test_a_large_body_is_refused(api, size):
    body = '{"name": "' + "x" * (size - 12) + '"}'

    problem = told(api.post(address_of("places.add"), body), 413, "too_large")
    assert problem["hint"] == "Send at most 512 KiB."


@pytest.mark.parametrize(
    "content_type",
    ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "a"],
)
def test_a_body_of_another_type_is_refused(api, content_type):
    answer = api.client.post(
        "/api/verbs/places/add/",
        "kind=estate&name=X",
        content_type=content_type,
        headers=api.headers,
    )

    told(answer, 415, "unsupported_media_type")


def test_a_number_is_no_text_and_a_text_no_number(api, plant):
    for name, value in (("name", 12), ("place", True), ("place", 1.5), ("place", "1_0")):
        answer = api.post(address_of("places.rename"), {"place": 1, "name": "X", name: value})

        (error,) = told(answer, 422, "malformed")["errors"]
        assert (error["field"], error["value"]) == (name, value if value != 1.5 else "1.5")


def test_a_comma_is_no_decimal_point(api, plant):
    answer = api.post(address_of("joints.measure"), {"joint": plant.joint("H"), "loss_db": "0,3"})

    (error,) = told(answer, 422, "malformed")["errors"]
    assert error["allowed"] == "a number such as 12.5"


def test_a_mistyped_argument_is_refused_and_those_that_exist_are_named(api, plant):
    before = Change.objects.count()

    answer = api.post(address_of("places.rename"), {"place": plant.estate, "nmae": "X"})

    (error,) = told(answer, 422, "malformed")["errors"]
    assert (error["field"], error["value"]) == ("nmae", "X")
    assert error["allowed"] == "one of reason, place, name"
    assert Change.objects.count() == before


def test_every_wrong_value_is_listed(api):
    answer = api.post(address_of("joints.join"), {"a": "x", "kind": "glued", "loss_db": "much"})

    problem = told(answer, 422, "malformed")
    assert [error["field"] for error in problem["errors"]] == ["a", "b", "kind", "loss_db"]
    assert problem["errors"][2]["allowed"] == "one of 'mated', 'fusion', 'mechanical'"
    assert problem["detail"] == "4 values are wrong."


def test_a_loss_that_can_not_be_is_refused_in_the_verbs_words(api, plant):
    answer = api.post(address_of("joints.measure"), {"joint": plant.joint("H"), "loss_db": -0.1})

    problem = told(answer, 422, "malformed")
    assert problem["detail"] == "Loss -0.1 dB is not possible."
    assert problem["hint"] == "Give a number from 0 to 60 dB."
    assert problem["field"] == "loss_db"


@pytest.mark.parametrize("noun", NOUNS)
def test_a_filter_that_is_not_there_is_refused_not_ignored(api, noun):
    problem = told(api.get(f"{noun}/", colour="blue"), 400, "bad_query")

    (error,) = problem["errors"]
    assert (error["field"], error["value"]) == ("colour", "blue")
    assert "ordering" in error["allowed"]


def _filters():
    for noun, view in NOUNS.items():
        for name, each in view.filters.base_filters.items():
            yield pytest.param(noun, name, each, id=f"{noun} {name}")


@pytest.mark.usefixtures("plant")
@pytest.mark.parametrize(("noun", "name", "each"), list(_filters()))
def test_no_value_breaks_a_filter(api, noun, name, each):
    for value in ("", "abc", "-1", "0", "1.5", "1e3", "9" * 30, "9" * 5000, "\x00", "é", "%", "1"):
        answer = api.get(f"{noun}/", **{name: value})

        assert answer.status_code in {200, 400}, (value, answer.content)
        if answer.status_code == 400:
            (error,) = told(answer, 400, "bad_query")["errors"]
            assert error["field"] == name
            assert error["allowed"]
        else:
            assert value
            assert each.schema["type"] == "string" or value == "1"


def test_a_wrong_kind_is_answered_with_those_there_are(api):
    (error,) = told(api.get("joints/", kind="glued"), 400, "bad_query")["errors"]

    assert error == {
        "field": "kind",
        "value": "glued",
        "detail": "It is not one of those allowed.",
        "allowed": "one of 'mated', 'fusion', 'mechanical'",
    }


def test_a_place_that_is_not_there_holds_nothing_and_says_so(api):
    (error,) = told(api.get("equipment/", inside=999), 400, "bad_query")["errors"]

    assert error["detail"] == "There is no place number 999."


@pytest.mark.parametrize(
    "query",
    [{"page": page} for page in ("0", "-1", "x", "999999", "", "²")]
    + [{"page_size": size} for size in ("0", "501", "x", "1.0")],
)
def test_a_page_that_is_not_there_is_refused_and_says_how_many_there_are(api, plant, query):
    (error,) = told(api.get("points/", **query), 400, "bad_query")["errors"]

    assert error["field"] in query
    assert error["allowed"].startswith("a whole number from 1 to ")


def test_an_order_that_is_not_there_is_refused(api):
    (error,) = told(api.get("places/", ordering="colour"), 400, "bad_query")["errors"]

    assert "one of id, -id, name" in error["allowed"]


def test_a_name_given_twice_is_refused(api):
    for address in ("places/?kind=flat&kind=house", "find/?q=a&q=b"):
        (error,) = told(api.get(address), 400, "bad_query")["errors"]

        assert error["allowed"] == "one value"


@pytest.mark.parametrize("noun", NOUNS)
def test_a_detail_takes_no_names_it_does_not_know(api, plant, noun):
    told(api.get(f"{noun}/1/", expand="all"), 400, "bad_query")


@pytest.mark.parametrize("pk", ["0", "999999", "9" * 19, "9" * 40])
@pytest.mark.parametrize("noun", NOUNS)
def test_an_id_that_is_not_there_is_missing(api, noun, pk):
    told(api.get(f"{noun}/{pk}/"), 404, "missing")


@pytest.mark.parametrize("pk", ["-1", "abc", "1.5", "%00", "9" * 5000])
def test_what_is_no_id_is_no_address(api, pk):
    told(api.get(f"places/{pk}/"), 404, "no_such_address")


@pytest.mark.parametrize("preview", ["yes", "1", "TRUE", ""])
def test_whether_to_commit_is_never_guessed(api, plant, preview):
    before = Change.objects.count()

    answer = api.post(
        f"{address_of('places.add')}?preview={preview}", {"kind": "estate", "name": "X"}
    )

    assert told(answer, 400, "bad_query")["field"] == "preview"
    assert Change.objects.count() == before


@pytest.mark.parametrize(
    "q", ["", " ", "\x00", "'", '"', "*", "-", "AND OR NOT", "x" * 3000, "é ☃ 🙂"]
)
def test_no_text_breaks_find(api, plant, q):
    assert api.get("find/", q=q).status_code in {200, 400}

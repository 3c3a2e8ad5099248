"""Problems: every refusal and fault in one shape, in the words of the page."""

import logging
import re

import pytest
from django.core.exceptions import PermissionDenied, RequestDataTooBig, SuspiciousOperation
from django.http import Http404, UnreadablePostError
from rest_framework import exceptions
from rest_framework.test import APIRequestFactory
from rest_framework.views import APIView

import labels.refusals
from api.faults import FAULTS, FaultError
from api.problems import PROBLEM_JSON, all_refusals, kinds, problem_handler
from labels.refusals import LabelRefusal
from records.changes import Busy, Refusal
from tests.api.asking import told

REFUSALS = list(all_refusals())


def answered(exception):
    """Return how an exception is answered."""
    request = APIView().initialize_request(APIRequestFactory().get("/api/somewhere/"))
    return problem_handler(exception, {"request": request})


@pytest.mark.parametrize("refusal", REFUSALS, ids=lambda refusal: refusal.__name__)
def test_every_refusal_is_answered_in_its_own_words(refusal):
    raised = refusal.__new__(refusal)  # a few are made of other arguments
    Refusal.__init__(raised, "Leg 7 is taken.", hint="Choose another.", field="leg")

    answer = answered(raised)

    assert answer.status_code == refusal.status
    assert answer.content_type == PROBLEM_JSON
    assert answer.data == {
        "type": f"/api/problems/{refusal.code}/",
        "title": kinds()[refusal.code].title,
        "status": refusal.status,
        "detail": "Leg 7 is taken.",
        "code": refusal.code,
        "hint": "Choose another.",
        "field": "leg",
        "instance": "/api/somewhere/",
    }


@pytest.mark.parametrize("refusal", REFUSALS, ids=lambda refusal: refusal.__name__)
def test_every_refusal_has_a_status_of_its_kind_and_a_line_in_the_docs(api, refusal):
    assert refusal.status in {403, 404, 409, 422, 503}

    kind = api.read(f"problems/{refusal.code}/")

    assert (kind["code"], kind["status"]) == (refusal.code, refusal.status)
    assert kind["title"] == (refusal.__doc__ or "").partition("\n")[0].rstrip(".")
    assert kind["title"]
    assert kind["advice"]


def test_no_two_refusals_or_faults_share_a_code():
    codes = [refusal.code for refusal in REFUSALS] + list(FAULTS)

    assert len(codes) == len(set(codes))
    assert "refused" not in codes


def test_every_problem_is_listed(api):
    assert {each["code"] for each in api.read("problems/")} == set(kinds())


def test_the_tree_of_label_refusals_is_drawn_as_it_is():
    drawn = re.findall(r"^    (\w+) +(\w+)\.py  ", labels.refusals.__doc__, re.MULTILINE)

    there = {(each.__name__, each.__module__) for each in LabelRefusal.__subclasses__()}
    assert {(name, f"labels.{module}") for name, module in drawn} == there


def test_the_walk_finds_refusals_below_refusals():
    class Above(Refusal):
        """Above."""

    class Below(Above):
        """Below."""

    try:
        assert {Above, Below} <= set(all_refusals())
    finally:
        del Above, Below


FRAMEWORK = [
    (exceptions.NotAuthenticated(), 401, "not_signed_in"),
    (exceptions.AuthenticationFailed(), 401, "not_signed_in"),
    (exceptions.PermissionDenied(), 403, "not_allowed"),
    (PermissionDenied(), 403, "not_allowed"),
    (exceptions.NotFound(), 404, "no_such_address"),
    (Http404(), 404, "no_such_address"),
    (exceptions.MethodNotAllowed("PUT"), 405, "method_not_allowed"),
    (exceptions.NotAcceptable(), 406, "not_acceptable"),
    (exceptions.UnsupportedMediaType("text/csv"), 415, "unsupported_media_type"),
    (exceptions.ParseError(), 400, "unreadable"),
    (UnreadablePostError(), 400, "unreadable"),
    (RequestDataTooBig(), 413, "too_large"),
    (SuspiciousOperation(), 400, "unreadable"),
    (exceptions.Throttled(wait=7.2), 429, "too_many_requests"),
    (FaultError("still_running"), 409, "still_running"),
    (ZeroDivisionError("secret"), 500, "broken"),
]


@pytest.mark.parametrize(
    ("exception", "status", "code"),
    FRAMEWORK,
    ids=lambda each: getattr(type(each), "__module__", "") + repr(each),
)
def test_what_the_framework_finds_wrong_gets_the_same_shape(exception, status, code):
    answer = answered(exception)

    assert (answer.status_code, answer.data["status"], answer.data["code"]) == (
        status,
        status,
        code,
    )
    assert answer.data["detail"]
    assert answer.data["hint"]
    assert answer.content_type == PROBLEM_JSON


def test_who_has_to_wait_is_told_how_long():
    assert answered(exceptions.Throttled(wait=7.2)).headers["Retry-After"] == "8"
    assert answered(Busy()).headers["Retry-After"] == "5"


def test_a_fault_of_the_program_tells_nothing_and_goes_to_the_log(api, plant, monkeypatch, caplog):
    def broken(*_args, **_named):
        raise ZeroDivisionError("secret")

    monkeypatch.setattr("api.places.addresses", broken)
    with caplog.at_level(logging.ERROR):
        answer = api.get("places/")

    problem = told(answer, 500, "broken")
    assert "secret" not in answer.content.decode()
    assert "Traceback" not in answer.content.decode()
    assert problem["detail"] == "A fault of the program."
    assert any(
        record.exc_info and "secret" in str(record.exc_info[1]) for record in caplog.records
    )


def test_a_developer_sees_the_fault_itself(settings):
    settings.DEBUG = True

    with pytest.raises(ZeroDivisionError):
        answered(ZeroDivisionError())


def test_a_person_gets_a_page_about_a_problem(api):
    answer = api.client.get(
        "/api/problems/leg_booked/", headers=api.headers | {"Accept": "text/html"}
    )

    assert answer.headers["Content-Type"].startswith("text/html")
    assert "A leg that is already promised." in answer.content.decode()


def test_a_page_that_fails_answers_a_problem_too(api):
    answer = api.client.get(
        "/api/problems/nothing/", headers=api.headers | {"Accept": "text/html"}
    )

    problem = told(answer, 404, "missing")
    assert problem["hint"] == "/api/problems/ lists them all."


def test_an_address_without_its_slash_is_put_right(api):
    problem = told(api.get("places"), 404, "no_such_address")

    assert problem["hint"] == "Write it with a slash at its end: /api/places/"


@pytest.mark.parametrize("method", ["get", "post", "put", "patch", "delete", "head", "options"])
def test_an_unknown_address_is_a_problem_by_any_method(api, method):
    answer = getattr(api.client, method)("/api/nowhere/at/all", headers=api.headers)

    assert answer.status_code == 404
    assert answer.content_type == PROBLEM_JSON


def test_a_form_of_answer_that_is_not_made_is_refused(api):
    answer = api.client.get("/api/places/", headers=api.headers | {"Accept": "text/csv"})

    told(answer, 406, "not_acceptable")


def test_a_method_that_is_not_there_is_refused(api, plant):
    answer = api.client.delete(f"/api/places/{plant.estate}/", headers=api.headers)

    told(answer, 405, "method_not_allowed")
    assert "GET" in answer.headers["Allow"]

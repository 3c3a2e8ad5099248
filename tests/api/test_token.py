"""Sign in and out by token."""

import pytest
from django.conf import settings
from django.test import Client

from tests.api.asking import told
from tests.factories import user

PASSWORD = "light at the far end"


@pytest.fixture
def crew(db):
    found = user()
    found.set_password(PASSWORD)
    found.save()
    return found


def sign_in(password=PASSWORD, **more):
    return Client().post(
        "/api/token/",
        {"username": "crew", "password": password, **more},
        content_type="application/json",
    )


def ask(token):
    return Client().get("/api/lines/", headers={"Authorization": f"Token {token}"})


def test_a_name_and_password_get_a_token_that_opens_the_api(crew):
    answer = sign_in()

    assert answer.status_code == 200
    assert ask(answer.json()["token"]).status_code == 200


def posted(body, kind="application/x-www-form-urlencoded"):
    return Client().post("/api/token/", body, content_type=kind)


def test_the_fields_of_a_form_do_as_well_as_json(crew):
    answer = posted("username=crew&password=light+at%20the+far+end")

    assert answer.json() == sign_in().json()


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        ("username=crew", 422, "malformed"),
        ("username=crew&username=boss&password=x", 400, "unreadable"),
        ("username=%ff&password=x", 400, "unreadable"),
        ("crew", 400, "unreadable"),
        ("", 422, "malformed"),
    ],
)
def test_a_form_at_fault_is_refused_in_words(crew, body, status, code):
    told(posted(body), status, code)


def test_a_form_that_holds_files_is_no_sign_in(crew):
    assert posted("x", "multipart/form-data; boundary=x").status_code == 415


def test_a_token_given_back_opens_nothing(crew):
    token = sign_in().json()["token"]

    answer = Client().delete("/api/token/", headers={"Authorization": f"Token {token}"})

    assert (answer.status_code, answer.content) == (204, b"")
    told(ask(token), 401, "not_signed_in")
    assert sign_in().json()["token"] != token


def test_a_stale_token_sent_along_does_not_hinder_a_sign_in(crew):
    answer = Client().post(
        "/api/token/",
        {"username": "crew", "password": PASSWORD},
        content_type="application/json",
        headers={"Authorization": "Token stale"},
    )

    assert answer.status_code == 200


def test_a_wrong_password_is_refused_without_saying_which_of_both_is_wrong(crew):
    wrong = told(sign_in("wrong"), 401, "sign_in_failed")
    nobody = told(sign_in(username="nobody"), 401, "sign_in_failed")

    assert wrong == nobody
    assert sign_in("wrong").headers["WWW-Authenticate"] == "Token"


def test_who_may_not_sign_in_any_more_gets_no_token(crew):
    token = sign_in().json()["token"]
    crew.is_active = False
    crew.save()

    told(sign_in(), 401, "sign_in_failed")
    told(ask(token), 401, "not_signed_in")


def test_too_many_wrong_passwords_close_the_name_for_a_while(crew):
    for _ in range(settings.AXES_FAILURE_LIMIT):
        answer = sign_in("wrong")

    told(answer, 429, "locked_out")
    answer = sign_in()
    told(answer, 429, "locked_out")
    assert answer.headers["Retry-After"] == "900"
    assert "Set-Cookie" not in answer.headers


def test_a_wrong_value_is_named(crew):
    problem = told(
        Client().post("/api/token/", {"username": "crew"}, content_type="application/json"),
        422,
        "malformed",
    )

    assert problem["errors"] == [
        {
            "field": "password",
            "value": None,
            "detail": "It is missing.",
            "allowed": "a text",
        }
    ]


@pytest.mark.parametrize("wrong", [{"password": ["secret"]}, {"pasword": "secret"}])
def test_a_password_is_never_sent_back(crew, wrong):
    answer = Client().post(
        "/api/token/", {"username": "crew", **wrong}, content_type="application/json"
    )

    told(answer, 422, "malformed")
    assert "secret" not in answer.content.decode()


def test_the_middleware_page_for_lock_outs_is_left_to_the_sign_in_page(crew):
    for _ in range(settings.AXES_FAILURE_LIMIT + 1):
        answer = sign_in("wrong")

    assert answer.headers["Content-Type"] == "application/problem+json"


def test_there_is_nothing_to_read(crew):
    told(Client().get("/api/token/"), 401, "not_signed_in")
    answer = Client().get(
        "/api/token/", headers={"Authorization": f"Token {sign_in().json()['token']}"}
    )
    told(answer, 405, "method_not_allowed")
    assert "POST" in answer.headers["Allow"]

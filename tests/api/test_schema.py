"""The description of the API: valid, complete, and shown by a page that needs no inline script."""

import json
import re

import pytest
import yaml
from django.core.management import call_command
from playwright.sync_api import sync_playwright

from api.directory import NOUNS
from api.verbs import SHAPES
from tests.api.asking import address_of


@pytest.fixture(scope="module")
def schema(tmp_path_factory):
    """Return the schema, validated; a warning is a failure."""
    file = tmp_path_factory.mktemp("schema") / "schema.yml"
    call_command("spectacular", "--validate", "--fail-on-warn", "--file", str(file))
    return yaml.safe_load(file.read_text())


def test_the_schema_is_valid_and_made_without_a_warning(schema):
    assert schema["openapi"].startswith("3.")
    assert schema["info"]["title"] == "Legbook"


def test_every_address_is_described(schema):
    described = set(schema["paths"])

    assert {f"/api/{noun}/" for noun in NOUNS} <= described
    for noun in NOUNS:
        assert any(re.fullmatch(rf"/api/{noun}/{{\w+}}/", path) for path in described), noun
    assert "/api/jobs/{id}/preview/" in described
    assert {f"/api/{address_of(verb)}" for verb in SHAPES} <= described
    assert "/api/points/{id}/path/" in described


def _operations(schema):
    for path, methods in schema["paths"].items():
        for method, operation in methods.items():
            yield f"{method} {path}", operation


def test_every_endpoint_says_what_it_does_and_what_a_problem_looks_like(schema):
    for name, operation in _operations(schema):
        assert operation.get("description"), name
        problem = operation["responses"]["default"]["content"]["application/problem+json"]
        assert problem["schema"]["$ref"].endswith("/Problem"), name


def test_every_parameter_and_filter_is_described(schema):
    for name, operation in _operations(schema):
        for parameter in operation.get("parameters", ()):
            if parameter["in"] == "query":
                assert parameter.get("description"), (name, parameter["name"])


def test_every_verb_shows_an_example_and_takes_a_key(schema):
    for verb in SHAPES:
        operation = schema["paths"][f"/api/{address_of(verb)}"]["post"]

        body = operation["requestBody"]["content"]["application/json"]
        (example,) = body["examples"].values()
        assert example["value"] == SHAPES[verb].example
        assert {"Idempotency-Key", "preview"} <= {each["name"] for each in operation["parameters"]}
        assert list(operation["requestBody"]["content"]) == ["application/json"]


def test_every_component_is_described_or_a_plain_choice(schema):
    bare = [
        name
        for name, component in schema["components"]["schemas"].items()
        if not component.get("description")
        and "enum" not in component
        and not name.startswith("Paginated")
    ]

    assert bare == []


def test_no_quantity_is_named_without_its_unit(schema):
    names = {
        name
        for component in schema["components"]["schemas"].values()
        for name in component.get("properties", ())
    }

    assert not names & {
        "loss",
        "level",
        "length",
        "wavelength",
        "diameter",
        "power",
        "attenuation",
    }


def test_the_schema_is_served_to_who_is_signed_in(api):
    answer = api.client.get(
        "/api/schema/", headers=api.headers | {"Accept": "application/vnd.oai.openapi+json"}
    )

    assert json.loads(answer.content)["paths"]


def titles_down_to(page, element):
    """Scroll down to an element, as the page draws what is in sight; return its headings."""
    titles = set()
    for _ in range(200):
        titles |= set(page.eval_on_selector_all(".opblock-tag", "all => all.map(each => each.id)"))
        if element.count():
            return titles
        page.mouse.wheel(0, 300)
        page.wait_for_timeout(50)
    return pytest.fail("It is not on the page.")


def test_the_docs_page_works_under_the_content_security_policy(
    chromium, live_server, client, django_user_model
):
    user = django_user_model.objects.create_user("reader")
    client.force_login(user)
    complaints = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium)
        page = browser.new_page()
        page.context.add_cookies(
            [{"name": "sessionid", "value": client.cookies["sessionid"].value,
              "url": live_server.url}]
        )  # fmt: skip
        page.on(
            "console", lambda said: complaints.append(said.text) if said.type == "error" else None
        )
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(f"{live_server.url}/api/docs/")
        page.wait_for_selector(".opblock-tag")
        join = page.locator("[id*=joints_join]").first
        titles = titles_down_to(page, join)
        join.click()
        page.wait_for_selector("text=Make two points one")
        browser.close()

    assert complaints == []
    assert len(titles) > 20

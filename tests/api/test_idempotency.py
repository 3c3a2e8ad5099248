"""A request repeated with its Idempotency-Key changes nothing more."""

from datetime import timedelta

import pytest
from django.utils import timezone

from api import idempotency
from api.models import KeptAnswer
from records.models import Change, Place
from tests.api.asking import Api, address_of, told

ADD = address_of("places.add")
KEY = '"8e03978e-40d5-43dd-bc93-6894a57f9324"'


def flat(plant, name="Flat 9"):
    return {"kind": "flat", "name": name, "parent": plant.building}


def test_the_same_request_gets_the_first_answer(api, plant):
    first = api.post(ADD, flat(plant), Idempotency_Key=KEY)
    again = api.post(ADD, flat(plant), Idempotency_Key=KEY)

    assert first.status_code == again.status_code == 201
    assert first.json() == again.json()
    assert first.headers["Location"] == again.headers["Location"]
    assert Place.objects.filter(name="Flat 9").count() == 1


def test_the_quotes_of_a_key_may_be_left_out(api, plant):
    first = api.post(ADD, flat(plant), Idempotency_Key=KEY)

    assert api.post(ADD, flat(plant), Idempotency_Key=KEY.strip('"')).json() == first.json()


def test_another_request_under_the_key_is_refused(api, plant):
    api.post(ADD, flat(plant), Idempotency_Key=KEY)

    other_body = api.post(ADD, flat(plant, "Flat 10"), Idempotency_Key=KEY)
    other_verb = api.post(
        address_of("places.rename"), {"place": 1, "name": "X"}, Idempotency_Key=KEY
    )

    told(other_body, 422, "key_reused")
    told(other_verb, 422, "key_reused")
    assert not Place.objects.filter(name="Flat 10").exists()


def test_a_key_belongs_to_its_user(api, plant):
    api.post(ADD, flat(plant), Idempotency_Key=KEY)

    answer = Api("another").post(ADD, flat(plant, "Flat 10"), Idempotency_Key=KEY)

    assert answer.status_code == 201


def test_while_the_first_still_runs_its_repetition_is_told_to_wait(api, plant):
    _begun(api, plant, ago=timedelta(seconds=20))

    answer = api.post(ADD, flat(plant), Idempotency_Key=KEY)

    told(answer, 409, "still_running")
    assert answer.headers["Retry-After"] == "1"
    assert not Place.objects.filter(name="Flat 9").exists()


def test_a_request_that_died_is_taken_over(api, plant):
    _begun(api, plant, ago=timedelta(minutes=3))

    answer = api.post(ADD, flat(plant), Idempotency_Key=KEY)

    assert answer.status_code == 201
    assert api.post(ADD, flat(plant), Idempotency_Key=KEY).json() == answer.json()


def test_a_request_that_was_taken_over_meanwhile_commits_nothing(api, plant, monkeypatch):
    keep = idempotency.Claim.keep

    def overtaken(claim, answer):
        KeptAnswer.objects.update(ticket="00000000-0000-4000-8000-000000000000")
        keep(claim, answer)

    monkeypatch.setattr(idempotency.Claim, "keep", overtaken)
    before = Change.objects.count()

    answer = api.post(ADD, flat(plant), Idempotency_Key=KEY)

    told(answer, 409, "overtaken")
    assert Change.objects.count() == before
    assert not Place.objects.filter(name="Flat 9").exists()


def _begun(api, plant, *, ago):
    """Leave a key as a request leaves it that began and has not ended."""
    api.post(ADD, flat(plant), Idempotency_Key=KEY)
    api.do("places.rename", place=Place.objects.get(name="Flat 9").pk, name="Elsewhere")
    KeptAnswer.objects.update(answer=None, begun_at=timezone.now() - ago)


def test_a_refused_request_may_be_repeated_with_its_key(api, plant):
    told(api.post(ADD, flat(plant, "Flat 1"), Idempotency_Key=KEY), 409, "name_taken")
    api.do("places.rename", place=plant.flat("1"), name="Flat 1A")

    answer = api.post(ADD, flat(plant, "Flat 1"), Idempotency_Key=KEY)

    assert answer.status_code == 201


def test_keys_are_forgotten_after_a_day(api, plant):
    api.post(ADD, flat(plant), Idempotency_Key=KEY)
    KeptAnswer.objects.update(begun_at=timezone.now() - timedelta(hours=25))

    answer = api.post(ADD, flat(plant, "Flat 10"), Idempotency_Key=KEY)

    assert answer.status_code == 201
    assert KeptAnswer.objects.count() == 1


def test_a_preview_needs_no_key_and_keeps_none(api, plant):
    answer = api.post(f"{ADD}?preview=true", flat(plant), Idempotency_Key=KEY)

    assert answer.status_code == 200
    assert not KeptAnswer.objects.exists()


@pytest.mark.parametrize("key", ["", '""', "two words", "é", "x" * 101, '"half'])
def test_a_key_of_a_wrong_form_is_refused(api, plant, key):
    told(api.post(ADD, flat(plant), Idempotency_Key=key), 400, "bad_key")
    told(api.post(f"{ADD}?preview=true", flat(plant), Idempotency_Key=key), 400, "bad_key")

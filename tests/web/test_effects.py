"""What a verb's page says of homes that keep their light."""

import pytest

from records.models import Change
from tests.factories import Plant, user
from tests.web.reading import PLANT, words

pytestmark = pytest.mark.django_db


def test_homes_whose_light_would_be_wrong_are_named_with_what_is_wrong(client):
    plant = Plant(PLANT)
    client.force_login(user())

    page = client.get("/do/joints.measure/", {"joint": plant.joint("O.1"), "loss_db": "25"})

    assert "2 homes keep light that is wrong then" in words(page)
    assert "T1 of Alder Close, Block A, Flat 1, GPON B+: down: too weak: " in words(page)
    assert page.context["effect"].warnings == ()


def test_who_is_dark_only_while_it_is_done_is_named_before_and_in_history(crew):
    plant = Plant(PLANT)
    swap = {"equipment": plant.id("T1"), "serial": "NEW-7"}

    page = crew.get("/do/swaps.swap/", swap)
    assert "No home goes dark for good. 1 home is dark while it is done" in words(page)
    token = page.context["token"]
    page = crew.post("/do/swaps.swap/", {**swap, "token": token}, follow=True)

    number = Change.objects.order_by("-number")[0].number
    assert "Dark while it was done: 1" in words(crew.get(f"/changes/{number}/"))

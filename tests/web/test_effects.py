"""What a verb's page says of homes that keep their light."""

import pytest

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

"""A signed-in client of the API, and a plant with light for it to ask about."""

import pytest

from tests.api.asking import Api
from tests.factories import Plant

PLANT = """
    olt O x2
    splitter S 1:4
    splitter T 1:8
    cable F 1200 m x12
    cable D 30 m x2
    outlet U @1
    terminal H @1
    flat 2
    flat 3
    light O.1 GPON B+
    O.1 = F.1 = S
    S.1 - T
    T.1 = D ~ U - H
    book T.2 for 2
    bar T.8 broken tail
"""


@pytest.fixture
def api(db):
    """Return a client signed in as the crew."""
    return Api()


@pytest.fixture(scope="module")
def plant_of_all(once):
    """Build the plant once a module."""
    return once(lambda: Plant(PLANT))


@pytest.fixture
def plant(db, plant_of_all):
    """Return a small lit plant: an OLT, two splitters, a flat that is served and two that wait."""
    return plant_of_all.copied()

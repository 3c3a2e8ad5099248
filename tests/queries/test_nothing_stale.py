"""What a change rolled back, or another process did, is not remembered by this one."""

import pytest
from django.db import connection

from records.changes import cables, catalogue, joints
from records.changes.figures import GivenFigure
from records.models import ClassDirection, ColourScheme, Feed, OpticalClass, SchemeColour
from records.queries.cables import fibres
from records.queries.levels import lit_at
from tests.factories import Plant, opened
from tests.guards import guards_off, run_sql

pytestmark = pytest.mark.django_db


def _spliced(plant, loss_db, *, preview):
    """Add a type of splice, light a fibre through one of it, and return its id and loss."""
    figures = [
        GivenFigure(
            bound=each,
            value_db=loss_db,
            source="its sheet",
            wavelength_min_nm=1260,
            wavelength_max_nm=1650,
        )
        for each in ("least", "typical", "most")
    ]
    with opened(preview=preview) as change:
        own = catalogue.add(change, kind="fusion", name="Own", figures=figures)
        joints.join(change, plant["F.1b"], plant["D.1a"], kind="fusion", entry=own.pk)
        feeds = Feed.objects.filter(point__in=[plant["F.1b"], plant["D.1a"]])
        before, after = feeds.order_by("down_typical_mdb")
        return own.pk, after.down_typical_mdb - before.down_typical_mdb


def test_an_entry_that_was_only_previewed_gives_no_loss_to_the_next_of_its_id():
    plant = Plant("olt O\ncable F 100 m\ncable D 10 m\nO.1 = F\nlight O.1 GPON B+\nF ~ D")
    with opened() as change:
        joints.part(change, plant.joint("D.1a"))
    previewed, loss_mdb = _spliced(plant, 0.3, preview=True)
    assert loss_mdb == 300

    added, loss_mdb = _spliced(plant, 0.1, preview=False)

    assert loss_mdb == 100
    assert added == previewed or connection.vendor == "postgresql"


def test_rows_that_another_process_altered_are_seen():
    plant = Plant("olt O\ncable F 100 m\nO.1 = F\nlight O.1 GPON B+")
    lit = lit_at([plant["F.1b"]])[0]
    scheme = ColourScheme.objects.get(name="TIA-598").pk
    with opened() as change:
        laid = cables.lay(
            change,
            name="G",
            a_place=plant.riser,
            b_place=plant.building,
            length_m=9,
            colour_scheme=scheme,
        )
    assert fibres(laid)[0].colour.endswith("fibre 1 blue")

    run_sql(guards_off())
    ClassDirection.objects.filter(optical_class=_class(lit), direction="down").update(
        launch_min_dbm=9, launch_max_dbm=9
    )
    SchemeColour.objects.filter(scheme=scheme, position=1, element="fibre").update(colour="puce")

    assert lit_at([plant["F.1b"]])[0].launch.typical_dbm == 9
    assert fibres(laid)[0].colour.endswith("fibre 1 puce")


def _class(lit):
    return OpticalClass.objects.get(system=lit.optical_class.system, name=lit.optical_class.name)

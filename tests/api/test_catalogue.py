"""The catalogue by requests: own entries, new versions that take over, confirmed figures."""

import pytest

from api.verbs import SHAPES
from records.models import CatalogueEntry, Change, Figure
from tests.api.asking import address_of, told
from tests.factories import entry

FIGURES = SHAPES["catalogue.add"].example["figures"]


def test_a_crew_adds_an_entry_and_finds_it_with_its_figures(api):
    (thing,) = api.do("catalogue.add", kind="fusion", name="our splice", figures=FIGURES)["things"]

    added = api.read(f"catalogue-entries/{thing['id']}/")
    assert (added["kind"], added["name"], added["version"]) == ("fusion", "our splice", 1)
    assert [each["loss_db"] for each in added["figures"]] == [0, 0.04, 0.1]
    assert not added["figures"][0]["is_unconfirmed"]


def add_with(api, wrong):
    """Try to add an entry whose second figure is wrong."""
    figures = [FIGURES[0], {**FIGURES[1], **wrong}, FIGURES[2]]
    body = {"kind": "fusion", "name": "our splice", "figures": figures}
    return api.post(address_of("catalogue.add"), body)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"value_db": -1}, "figures.2.value_db"),
        ({"wavelength_min_nm": 850}, "figures.2.wavelength_min_nm"),
        ({"source": ""}, "figures.2.source"),
    ],
)
def test_an_impossible_figure_is_refused_with_its_number(api, wrong, field):
    before = Change.objects.count()

    problem = told(add_with(api, wrong), 422, "malformed")

    assert problem["field"] == field
    assert Change.objects.count() == before


@pytest.mark.parametrize("wrong", [{"value_db": "much"}, {"loss": 1}, {"bound": "worst"}])
def test_a_figure_of_another_shape_is_refused(api, wrong):
    answer = add_with(api, wrong)

    assert answer.status_code in {400, 422}
    assert answer.json()["errors"]
    assert not CatalogueEntry.objects.filter(name="our splice").exists()


def test_a_new_version_takes_over_in_as_many_requests_as_it_takes(api, plant):
    figures = [
        {**each, "value_db": value} for each, value in zip(FIGURES, (6.1, 6.7, 7.1), strict=True)
    ]
    old = entry("splitter", "1:4")

    (thing,) = api.do("catalogue.supersede", entry=old, figures=figures)["things"]

    begun = api.read(f"take-overs/{thing['id']}/")
    assert (begun["old"], begun["left"]) == (old, begun["uses"])
    assert thing["url"] == f"/api/take-overs/{begun['id']}/"
    for _ in range(10):
        if not api.read(f"take-overs/{begun['id']}/")["left"]:
            break
        api.do("catalogue.take_over", take_over=begun["id"], trees=1)
    assert api.read("take-overs/", old=old)["results"][0]["left"] == 0
    splitter = api.read(f"equipment/{plant.id('S')}/")
    assert splitter["entry"] == begun["new"]
    assert api.read(f"catalogue-entries/{old}/")["version"] == 1


def test_a_figure_is_confirmed_and_the_word_taken_back(api):
    row = Figure.objects.filter(confidence="memory only").first()

    def figure():
        told_entry = api.read(f"catalogue-entries/{row.entry_id}/")
        return next(each for each in told_entry["figures"] if each["id"] == row.pk)

    assert figure()["is_unconfirmed"]
    (thing,) = api.do(
        "catalogue.confirm", noun="figure", row=row.pk, edition="11/2016", table="Table 2"
    )["things"]

    assert not figure()["is_unconfirmed"]
    assert figure()["confirmations"][0]["table"] == "Table 2"
    assert figure()["confidence"] == "memory only"
    assert api.read("confirmations/", entry=row.entry_id)["results"][0]["id"] == thing["id"]

    api.do("catalogue.unconfirm", confirmation=thing["id"])

    assert figure()["is_unconfirmed"]
    told(api.get(f"confirmations/{thing['id']}/"), 404, "missing")

"""The catalogue: every figure with its source, and what is unconfirmed said to be so."""

import re

import pytest
from django.http import QueryDict

from records.changes import catalogue
from records.changes.figures import GivenFigure
from records.models import (
    CatalogueEntry,
    Change,
    ClassDirection,
    ColourScheme,
    Confirmation,
    OpticalClass,
)
from records.queries.take_overs import progress
from tests.factories import Plant, opened
from tests.factories import entry as entry_id
from tests.web.reading import main, words


def test_what_no_one_could_look_up_is_marked_unconfirmed(crew):
    from_memory = OpticalClass.objects.filter(directions__confidence="memory only").first()
    looked_up = OpticalClass.objects.exclude(directions__confidence="memory only").first()

    assert "unconfirmed" in words(crew.get(f"/catalogue/classes/{from_memory.pk}/"))
    assert "unconfirmed" not in words(crew.get(f"/catalogue/classes/{looked_up.pk}/"))


def test_every_figure_of_an_entry_stands_beside_its_source(crew):
    for entry in CatalogueEntry.objects.prefetch_related("figures"):
        page = words(crew.get(f"/catalogue/entries/{entry.pk}/"))
        for figure in entry.figures.all():
            assert " ".join(figure.source.split()) in page
            if figure.confidence == "memory only":
                assert "unconfirmed" in page


def test_both_directions_of_a_class_are_shown(crew):
    b_plus = OpticalClass.objects.get(system="GPON", name="B+")

    page = words(crew.get(f"/catalogue/classes/{b_plus.pk}/"))

    # ITU-T G.984.2 Amendment 1, class B+: 13 to 28 dB; ONU sensitivity -27, overload -8 dBm.
    assert "path loss 13.0 to 28.0 dB 13.0 to 28.0 dB" in page
    assert "sensitivity \N{MINUS SIGN}27.0 dBm" in page
    assert "overload \N{MINUS SIGN}8.0 dBm" in page


def test_a_colour_scheme_shows_its_colours_in_order(crew):
    scheme = ColourScheme.objects.get(name="TIA-598")

    page = words(crew.get(f"/catalogue/colours/{scheme.pk}/"))

    # TIA-598: blue, orange, green.
    assert "fibre 1 blue fibre 2 orange fibre 3 green" in page


def test_the_whole_catalogue_is_one_page_with_few_queries(crew, django_assert_max_num_queries):
    with django_assert_max_num_queries(6):
        page = words(crew.get("/catalogue/"))

    for entry in CatalogueEntry.objects.all():
        assert entry.name in page
    for optical_class in OpticalClass.objects.all():
        assert optical_class.name in page


@pytest.mark.parametrize("kind", ["classes", "entries", "colours"])
def test_what_the_catalogue_lacks_is_told(crew, kind):
    assert crew.get(f"/catalogue/{kind}/987654/").status_code == 404


def confirm(crew, page, **fields):
    """Follow the first link to confirm figures on a page, and send its form."""
    address, *_ = re.findall(r'href="/do/catalogue.confirm/[?]([^"]+)"', main(page))
    return send_confirmation(crew, QueryDict(address.replace("&amp;", "&")).dict(), **fields)


def send_confirmation(crew, start, **fields):
    """Send the form of a confirmation as its page gave it, with these fields filled in."""
    form = crew.get("/do/catalogue.confirm/", start)
    data = form.context["form"].data.dict()
    return crew.post(
        "/do/catalogue.confirm/", {**data, "token": form.context["token"], **fields}, follow=True
    )


def test_a_person_ticks_off_a_figure_with_edition_and_table(crew):
    from_memory = ClassDirection.objects.filter(confidence="memory only").first()
    address = f"/catalogue/classes/{from_memory.optical_class_id}/"
    marked = words(crew.get(address)).count("unconfirmed")
    in_list = words(crew.get("/catalogue/")).count("unconfirmed")
    form = {"noun": "class_direction", "row": from_memory.pk}
    assert f"row={from_memory.pk}" in main(crew.get(address))

    page = send_confirmation(crew, form, edition="G.987.2 (02/2016)", table="Table 9-3")

    assert page.redirect_chain[-1][0] == address
    assert "Confirmed in G.987.2 (02/2016), Table 9-3 by crew" in words(page)
    assert words(page).count("unconfirmed") == marked - 1
    left = words(crew.get("/catalogue/")).count("unconfirmed")
    assert left == in_list - (marked == 1)


def test_figures_of_one_source_are_ticked_off_together_and_the_word_can_be_taken_back(crew):
    fibre = CatalogueEntry.objects.get(kind="fibre", name="G.652.D")
    before = Change.objects.count()

    page = confirm(
        crew, crew.get(f"/catalogue/entries/{fibre.pk}/"), edition="G.652 (11/2016)", table="2"
    )

    assert Change.objects.count() == before + 1
    assert "Confirmed in G.652 (11/2016), 2 by crew" in words(page)
    for each in Confirmation.objects.all():
        form = crew.get("/do/catalogue.unconfirm/", {"confirmation": each.pk})
        data = form.context["form"].data.dict()
        crew.post("/do/catalogue.unconfirm/", {**data, "token": form.context["token"]})
    assert "Confirmed in G.652" not in words(crew.get(f"/catalogue/entries/{fibre.pk}/"))


def test_a_table_without_edition_is_asked_for_beside_its_field(crew):
    figure = CatalogueEntry.objects.get(kind="splitter", name="1:32").figures.first()
    data = {"noun": "figure", "row": figure.pk, "table": "2"}
    form = crew.get("/do/catalogue.confirm/", data)

    page = crew.post("/do/catalogue.confirm/", {**data, "token": form.context["token"]})

    assert page.status_code == 422
    assert "Edition : This is empty. Fill it in." in words(page)


def cells(number, **values):
    return {f"figures.{number}.{name}": value for name, value in values.items()}


BAND = {"wavelength_min_nm": "1260", "wavelength_max_nm": "1650"}


def add(crew, *rows, **fields):
    """Send the form for a splice of the crew's own, with these rows."""
    start = {"kind": "fusion", "name": "our splice"}
    form = crew.get("/do/catalogue.add/", start)
    sent = {**start, "token": form.context["token"], **fields}
    for number, row in enumerate(rows, start=1):
        sent |= cells(number, **{**BAND, **row})
    return crew.post("/do/catalogue.add/", sent, follow=True)


LEAST = {"bound": "least", "value_db": "0", "source": "test sheets, March 2026"}


def test_a_crew_adds_an_entry_of_its_own(crew):
    page = add(
        crew,
        LEAST,
        {"bound": "typical", "value_db": "0,04 dB"},
        {"bound": "most", "value_db": "0.10", "source": "our limit", "confidence": "computed"},
        {"bound": "least", "value_db": ""},
    )

    added = CatalogueEntry.objects.get(name="our splice")
    assert page.redirect_chain[-1][0] == f"/catalogue/entries/{added.pk}/"
    assert list(added.figures.order_by("pk").values_list("bound", "value_mdb", "source")) == [
        ("least", 0, "test sheets, March 2026"),
        ("typical", 40, "test sheets, March 2026"),
        ("most", 100, "our limit"),
    ]
    assert "added fusion our splice to the catalogue" in words(page).casefold()


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"value_db": "-0.1"}, "Figure 2: a loss of -0.1 dB is not possible"),
        ({"value_db": "nan"}, "'nan' is not a number"),
        ({"value_db": "much"}, "Figure 2: 'much' is not a number"),
        ({"wavelength_min_nm": ""}, "Figure 2: give both wavelengths"),
        ({"wavelength_max_nm": "9000"}, "9000 is not a possible wavelength"),
        ({"bound": "worst"}, "'worst' is not"),
        ({"bound": "least"}, "there are two figures for least"),
    ],
)
def test_a_wrong_figure_is_told_with_its_number_and_nothing_is_stored(crew, row, said):
    page = add(
        crew,
        LEAST,
        {"bound": "typical", "value_db": "0.04", **row},
        {"bound": "most", "value_db": "1"},
    )

    assert page.status_code == 422
    assert said in words(page)
    assert not CatalogueEntry.objects.filter(name="our splice").exists()


def test_more_rows_are_there_for_the_asking_without_javascript(crew):
    page = add(crew, LEAST, check="more")

    assert "figures.4.bound" in main(page)
    assert 'value="test sheets, March 2026"' in main(page)
    assert not CatalogueEntry.objects.filter(name="our splice").exists()


def test_a_new_version_starts_from_the_figures_of_the_old_one(crew):
    old = CatalogueEntry.objects.get(kind="fibre", name="G.652.D")

    page = main(crew.get("/do/catalogue.supersede/", {"entry": old.pk}))

    assert page.count("<legend>") == old.figures.count()
    for figure in old.figures.all():
        assert f'value="{figure.value_mdb / 1000:g}"' in page
    assert "dB/km" in page


@pytest.fixture
def begun(db):
    """Return a take-over of the 1:4 splitter, which three splitters in two trees use."""
    plant = Plant("olt O x2\nsplitter S 1:4\nsplitter R 1:4\nsplitter V 1:4")
    plant.grow("O.1 = S\nO.2 = V\nlight O.1 GPON B+\nlight O.2 GPON B+")
    figures = [
        GivenFigure(
            bound=bound,
            wavelength_min_nm=1260,
            wavelength_max_nm=1650,
            value_db=value_db,
            source="test sheets",
        )
        for bound, value_db in (("least", 6.1), ("typical", 6.6), ("most", 7.0))
    ]
    with opened(reason="new test sheets") as change:
        return catalogue.supersede(change, entry_id("splitter", "1:4"), figures=figures)


def test_a_new_version_is_seen_taking_over_and_finished_by_pressing_a_button(crew, begun):
    address = f"/catalogue/take-overs/{begun.pk}/"
    assert f"0 of {begun.uses} moved" in words(crew.get(address))
    assert address in main(crew.get(f"/catalogue/entries/{begun.old_id}/"))
    assert address in main(crew.get("/catalogue/take-overs/"))

    for _ in range(10):
        if progress(begun).is_done:
            break
        page = crew.post(f"{address}step", follow=True)

    assert page.redirect_chain[-1][0] == address
    assert "All is moved" in words(page)
    for version in (begun.old_id, begun.new_id):
        assert crew.get(f"/catalogue/entries/{version}/").status_code == 200
    assert "Version 2 is newer" in words(crew.get(f"/catalogue/entries/{begun.old_id}/"))


def test_with_javascript_the_page_goes_on_by_itself_until_all_is_moved(crew, begun):
    address = f"/catalogue/take-overs/{begun.pk}/step"

    went_on = []
    while not progress(begun).is_done and len(went_on) < 10:
        page = main(crew.post(address, headers={"HX-Request": "true"}))
        went_on.append("load delay" in page)

    assert went_on == [True] * (len(went_on) - 1) + [False]


def test_what_stops_a_take_over_is_told_and_it_goes_on_afterwards(crew, begun):
    address = f"/catalogue/take-overs/{begun.pk}/step"

    assert crew.get(address)["Location"] == address.removesuffix("step")
    assert crew.post("/catalogue/take-overs/987654/step").status_code == 404
    assert crew.post(address).status_code == 302


def test_the_list_of_take_overs_costs_the_same_however_many(
    crew, begun, django_assert_max_num_queries
):
    other = CatalogueEntry.objects.get(kind="splitter", name="1:8")
    same_figures = [_given(row) for row in other.figures.all()]

    with django_assert_max_num_queries(9):
        crew.get("/catalogue/take-overs/")
    with opened() as change:
        catalogue.supersede(change, other.pk, figures=same_figures)
    with django_assert_max_num_queries(9):
        crew.get("/catalogue/take-overs/")


def _given(row):
    return GivenFigure(
        bound=row.bound,
        wavelength_min_nm=row.wavelength_min_nm,
        wavelength_max_nm=row.wavelength_max_nm,
        value_db=row.value_mdb / 1000,
        source=row.source,
    )

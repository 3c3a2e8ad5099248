"""The catalogue: every figure with its source, and what is unconfirmed said to be so."""

import pytest

from records.models import CatalogueEntry, ColourScheme, OpticalClass
from tests.factories import user
from tests.web.reading import words


@pytest.fixture
def crew(client, db):
    client.force_login(user())
    return client


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

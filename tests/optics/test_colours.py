import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.optics.colours import Colour, ColourScheme, place_of_fibre
from tests.optics.catalogue import scheme

# Source: ANSI/TIA-598-C as restated at https://en.wikipedia.org/wiki/TIA-598-C
TIA_598 = "blue orange green brown slate white red black yellow violet rose aqua"
# Source: IEC 60304 as restated at https://blogtecnologista.com/en/tag/tia-eia-598-standards
IEC_60304 = "red green blue yellow white grey brown violet turquoise black orange pink"
# Source: IEC/EN 60794-2 annex, by a trade page restating it
IEC_60794_2 = "blue yellow red white green violet orange grey turquoise black brown pink"


@pytest.mark.parametrize(
    ("name", "order"),
    [("TIA-598", TIA_598), ("IEC 60304", IEC_60304), ("IEC 60794-2", IEC_60794_2)],
)
def test_the_first_dozen_is_plain_and_in_the_order_of_the_standard(name, order):
    assert " ".join(map(str, scheme(name).fibres[:12])) == order


def test_tia_repeats_its_dozen_with_a_tracer_that_shows():
    second_dozen = scheme("TIA-598").fibres[12:24]

    # Source: ANSI/TIA-598-C: a black tracer, on black a yellow one
    assert [str(colour) for colour in second_dozen] == [
        f"{name}, {'yellow' if name == 'black' else 'black'} tracer" for name in TIA_598.split()
    ]


def test_iec_repeats_its_dozen_with_a_ring_that_black_can_not_show():
    second_dozen = scheme("IEC 60304").fibres[12:24]

    # Source: trade page restating IEC 60304; the transparent fibre from memory
    names = IEC_60304.replace("black", "transparent")
    assert " ".join(colour.name for colour in second_dozen) == names
    assert all("ring" in colour.mark for colour in second_dozen)


def test_tubes_of_twelve_take_the_fibre_colours():
    # Source: fibre number = 12·(tube - 1) + position, TIA-598
    place = place_of_fibre(scheme("TIA-598"), 27)

    assert str(place) == "tube 3 green, fibre 3 green"


def test_tubes_that_share_a_colour_are_told_by_their_number():
    # Source: German practice: red, green, then all white
    iec = scheme("IEC 60304")

    assert str(place_of_fibre(iec, 61)) == "tube 6 white, told by position, fibre 1 red"
    assert place_of_fibre(iec, 61).tube_colour == place_of_fibre(iec, 73).tube_colour


def test_a_cable_with_its_own_tube_size_is_counted_by_it():
    assert str(place_of_fibre(scheme("TIA-598"), 27, group_size=6)) == (
        "tube 5 slate, fibre 3 green"
    )


def test_a_scheme_names_its_last_fibre_too():
    assert str(place_of_fibre(scheme("TIA-598"), 24, group_size=24)) == (
        "tube 1 blue, fibre 24 aqua, black tracer"
    )


def test_beyond_its_scheme_a_fibre_is_known_by_number_alone():
    french = scheme("French practice")  # twelve colours, no tube colours

    assert str(place_of_fibre(french, 13, group_size=24)) == "tube 1, fibre 13"


@given(st.integers(1, 432), st.integers(1, 24))
def test_tube_and_position_give_the_number_back(fibre, group_size):
    place = place_of_fibre(scheme("TIA-598"), fibre, group_size=group_size)

    assert group_size * (place.tube - 1) + place.position == fibre
    assert 1 <= place.position <= group_size


@pytest.mark.parametrize(("fibre", "group_size"), [(0, 12), (-1, 12), (1, 0)])
def test_fibres_and_groups_count_from_one(fibre, group_size):
    with pytest.raises(ValueError, match="both count from 1"):
        place_of_fibre(scheme("TIA-598"), fibre, group_size=group_size)


def test_a_scheme_without_room_in_its_tubes_is_refused():
    with pytest.raises(ValueError, match="group_size is 0"):
        ColourScheme(name="none", fibres=(Colour(name="blue"),), tubes=(), group_size=0)

from itertools import product

from records.optics.polish import REFLECTANCE_MAX_DB, Polish, may_mate


def test_square_ends_mate_with_each_other_and_angled_ends_with_their_like():
    # Source: text of the French cabling association: PC and UPC mate, APC only with APC
    mating = {(one, other) for one, other in product(Polish, Polish) if may_mate(one, other)}

    assert mating == {("PC", "PC"), ("PC", "UPC"), ("UPC", "PC"), ("UPC", "UPC"), ("APC", "APC")}


def test_the_finer_the_polish_the_less_it_reflects():
    # Source: the same text: -30, -50, -60 dB
    assert [REFLECTANCE_MAX_DB[polish] for polish in Polish] == [-30, -50, -60]

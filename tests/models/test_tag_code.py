"""Codes on tags, against published worked examples and by exhaustion."""

import csv
import itertools
import random
from pathlib import Path

import pytest
from stdnum.iso7064 import mod_11_2, mod_11_10, mod_37_2, mod_37_36, mod_97_10

from records.models import tag_code

DATA = Path(__file__).parent / "data"
ISO_7064 = {
    "ISO 7064 MOD 11-2": mod_11_2.calc_check_digit,
    "ISO 7064 MOD 11,10": mod_11_10.calc_check_digit,
    "ISO 7064 MOD 37-2": mod_37_2.calc_check_digit,
    "ISO 7064 MOD 37,36": mod_37_36.calc_check_digit,
    "ISO 7064 MOD 97-10": mod_97_10.calc_check_digits,
}
"""The schemes that were weighed against ours, by another library."""


def _vectors(*schemes, file="crockford_base32_vectors.csv"):
    with (DATA / file).open(encoding="utf-8", newline="") as lines:
        next(lines)  # the comment that names the sources
        rows = [row for row in csv.DictReader(lines) if row["scheme"] in schemes]
    return [pytest.param(row, id=row["full"]) for row in rows]


@pytest.mark.parametrize("row", _vectors(*ISO_7064, file="iso_7064_vectors.csv"))
def test_the_published_vectors_of_the_schemes_weighed_hold_or_fail_as_marked(row):
    agrees = ISO_7064[row["scheme"]](row["payload"]) == row["check"]

    assert agrees is (row["valid"] == "yes"), row["source"]


def test_the_two_published_wrong_ones_are_among_the_vectors():
    files = [path.read_text(encoding="utf-8") for path in sorted(DATA.glob("*_vectors.csv"))]

    assert [text.count(",no,") > 0 for text in files] == [True, True]
    assert "RF68539007547034,no" in files[1]
    assert "C9GQ6S8J,no" in files[0]


def test_none_of_the_schemes_weighed_finds_more_than_ours():
    """Of swaps over one, MOD 37,36 leaves some unseen; ours finds each. So it was taken."""
    unseen = {"theirs": 0, "ours": 0}
    for code in _issued(300, seed=5):
        payload = code[:7]
        for place in range(5):
            swapped = _swapped(payload, place, place + 2)
            if swapped != payload:
                theirs = mod_37_36.calc_check_digit
                unseen["theirs"] += theirs(swapped) == theirs(payload)
                ours = tag_code.check_symbol
                unseen["ours"] += ours(swapped) == ours(payload)

    assert unseen["ours"] == 0 < unseen["theirs"]


def _swapped(text, one, other):
    symbols = list(text)
    symbols[one], symbols[other] = symbols[other], symbols[one]
    return "".join(symbols)


def _issued(count, seed):
    draw = random.Random(seed)
    numbers = (draw.randrange(tag_code.NUMBER_COUNT) for _ in itertools.count())
    issued = set()
    while len(issued) < count:
        issued.add(tag_code.issue(numbers, issued.__contains__))
    return sorted(issued)


def _fault(text):
    with pytest.raises(tag_code.TagCodeError) as refused:
        tag_code.parse(text)
    return refused.value


@pytest.mark.parametrize("row", _vectors("Crockford base 32 mod 37"))
def test_the_check_symbol_agrees_with_the_published_examples(row):
    agrees = tag_code.check_symbol(row["payload"]) == row["check"]

    assert agrees is (row["valid"] == "yes"), row["note"]


@pytest.mark.parametrize("row", _vectors("Crockford base 32 decode"))
def test_typed_codes_are_read_by_the_published_rules(row):
    if row["valid"] == "no":
        assert _fault(row["full"]).fault == "symbol", row["note"]
        return

    assert f"reads as {tag_code.parse(row['full'])} " in row["note"]


def test_the_published_wrong_example_is_refused():
    """A public page pads the bits on the right and writes C9GQ6S8 with check J."""
    assert _fault("C9GQ6S8J").fault == "check"


def test_a_number_becomes_the_published_code():
    """1650553701 has remainder 18, check J. Source: dcode.fr/crockford-base-32-encoding."""
    assert tag_code.code_from_number(1650553701) == "1H62WV5J"


@pytest.mark.parametrize("number", [-1, tag_code.NUMBER_COUNT])
def test_a_number_out_of_range_is_a_wrong_call(number):
    with pytest.raises(ValueError, match="lies between 0 and 34359738367"):
        tag_code.code_from_number(number)


def test_a_number_whose_check_is_outside_the_32_is_never_a_code():
    """Number 32 is written 10 and has check *."""
    with pytest.raises(ValueError, match=r"check symbol \*"):
        tag_code.code_from_number(32)

    assert tag_code.candidate(32) is None


def test_codes_that_could_spell_something_are_not_issued():
    assert tag_code.parse("ABCDEFGN") == "ABCDEFGN"
    assert tag_code.candidate(_number("ABCDEFG")) is None
    assert tag_code.candidate(_number("7D1CK72")) is None
    assert tag_code.candidate(_number("7K3M9QX")) == "7K3M9QX8"


def _number(payload):
    number = 0
    for symbol in payload:
        number = number * 32 + tag_code.ALPHABET.index(symbol)
    return number


def _is_refused(text):
    """Tell whether the check fails: like `_fault`, a quarter of a million times in a second."""
    try:
        tag_code.parse(text)
    except tag_code.TagCodeError as error:
        return error.fault == "check"
    return False


def test_every_single_wrong_symbol_is_refused():
    for code in _issued(1000, seed=1):
        for position, symbol in itertools.product(range(8), tag_code.ALPHABET):
            wrong = code[:position] + symbol + code[position + 1 :]
            assert wrong == code or _is_refused(wrong), (code, wrong)


def test_every_swap_of_two_symbols_is_refused():
    for code in _issued(1000, seed=2):
        for one, other in itertools.combinations(range(8), 2):
            wrong = _swapped(code, one, other)
            assert wrong == code or _is_refused(wrong), (code, wrong)


def test_case_spaces_hyphens_and_look_alikes_are_forgiven():
    for code in _issued(200, seed=3):
        typed = code.lower().replace("1", "l").replace("0", "o")
        assert tag_code.parse(f" {typed[:4]} \u2013 {typed[4:]}\t") == code
        assert tag_code.parse(code.replace("1", "I")) == code


def test_no_code_is_issued_twice_and_every_check_is_one_of_the_32():
    """A small space, the numbers that begin with 7K3, so that the same ones come up again."""
    draw = random.Random(4)
    drawn = []
    numbers = (_number("7K30000") + draw.randrange(32**4) for _ in itertools.count())
    issued = set()

    for _ in range(100_000):
        code = tag_code.issue(map(_noted(drawn), numbers), issued.__contains__)
        assert code not in issued
        issued.add(code)

    assert len(set(drawn)) < len(drawn)  # some did come up again

    assert {code[-1] for code in issued} <= set(tag_code.ALPHABET)


def _noted(drawn):
    def note(number):
        drawn.append(number)
        return number

    return note


def test_running_out_of_random_numbers_is_said():
    with pytest.raises(tag_code.NoFreeCodeError, match="offer more"):
        tag_code.issue(iter([32, 33]), set().__contains__)


def test_a_wrong_count_is_told_with_the_count():
    fault = _fault("7K3M-9QX")

    assert fault.fault == "length"
    assert str(fault) == "A tag code has 8 characters, as in 7K3M-9QX8; this has 7."


def test_u_is_refused_with_its_position_and_never_read_as_v():
    fault = _fault("7K3M-9UX8")

    assert (fault.fault, fault.position) == ("symbol", 6)
    assert "Character 6 is U" in str(fault)
    assert "may be a V or a 0" in str(fault)


def test_a_foreign_symbol_is_named():
    fault = _fault("7K3MЖQX8")

    assert (fault.fault, fault.position) == ("symbol", 5)
    assert "'Ж'" in str(fault)


def test_a_failed_check_says_what_to_do():
    assert "One character is wrong, or two are swapped" in str(_fault("7K3M9QX9"))


def test_a_code_is_shown_in_two_groups_and_said_in_words():
    assert tag_code.grouped("7K3M9QX8") == "7K3M-9QX8"
    assert tag_code.spoken("7K3M9QX8") == "seven Kilo three Mike, nine Quebec X-ray eight"


@pytest.mark.parametrize(
    "scanned",
    [
        "HTTPS://LABELS.ORG/T/7K3M9QX8",
        "https://labels.org/t/7k3m9qx8",
        "http://labels.org/t/7K3M-9QX8/\n",
        " 7k3m 9qx8 ",
    ],
)
def test_a_scanned_tag_is_read_from_its_link_or_its_code(scanned):
    assert tag_code.parse_scanned(scanned, "LABELS.ORG") == "7K3M9QX8"


@pytest.mark.parametrize(
    "scanned",
    [
        "HTTPS://OTHER.ORG/T/7K3M9QX8",
        "https://labels.org/p/7K3M9QX8",
        "https://labels.org/t/",
        "WIFI:T:WPA;S:x;P:y;;",
        "9780306406157 9780306406157",
        "7K3M9QX8?",
    ],
)
def test_a_code_of_another_system_is_refused_as_such(scanned):
    with pytest.raises(tag_code.TagCodeError, match="is not a tag of this record") as refused:
        tag_code.parse_scanned(scanned, "LABELS.ORG")

    assert refused.value.fault == "foreign"
    assert "lead to labels.org/t/" in str(refused.value)


def test_a_link_of_ours_with_a_wrong_code_tells_the_code_is_wrong():
    with pytest.raises(tag_code.TagCodeError, match="check character does not fit"):
        tag_code.parse_scanned("HTTPS://LABELS.ORG/T/7K3M9QX9", "LABELS.ORG")

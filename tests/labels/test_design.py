"""What each kind of label may show, and what it refuses."""

from typing import Any

import pytest

from labels.design import FIELDS, KINDS, LabelError, LabelSettings, both_ends, label
from records.models.tag_code import TagCodeError


def test_no_field_can_hold_an_address_an_occupant_or_a_service():
    for kind in KINDS.values():
        assert set(kind.fields) <= set(FIELDS)
    for word in ("address", "occupant", "subscriber", "service", "flat", "telephone"):
        fields: dict[str, Any] = {"number": "12", word: "x"}
        with pytest.raises(LabelError, match="has no field"):
            label("port", code="7K3M9QX8", **fields)


def test_the_outlet_in_the_home_shows_the_line_and_nothing_else():
    assert KINDS["home_outlet"].fields == ("line",)
    with pytest.raises(LabelError, match="carries no tag code"):
        label("home_outlet", code="7K3M9QX8", line="FI-0042-7311")


def test_a_caution_never_shares_a_label_with_a_code():
    assert not KINDS["caution"].has_qr
    with pytest.raises(LabelError, match="Print the code on a label of its own"):
        label("caution", code="7K3M9QX8", signal="CAUTION", words="LASER LIGHT")


def test_a_hazard_level_is_a_dated_statement():
    with pytest.raises(LabelError, match="dated statement of an assessor"):
        label("caution", signal="CAUTION", words="LASER LIGHT", level="1M")


def test_codes_are_checked_and_kept_in_one_form():
    assert label("blank", code="7k3m-9qx8").code == "7K3M9QX8"
    with pytest.raises(TagCodeError, match="check character does not fit"):
        label("blank", code="7K3M9QX9")


@pytest.mark.parametrize(
    ("kind", "fields", "words"),
    [
        ("poster", {}, "no label kind 'poster'.*Choose of: port, leg"),
        ("port", {"code": "7K3M9QX8"}, "needs its number: number of the port"),
        ("port", {"number": "12"}, "needs a tag code. Issue one"),
        ("port", {"code": "7K3M9QX8", "number": "1", "line": "x"}, "no field 'line'.*It may show"),
        ("blank", {"code": "7K3M9QX8", "name": "x"}, "It may show: its code only"),
        ("cable_wrap", {"code": "7K3M9QX8", "end": "A"}, "None is no diameter"),
        ("cable_wrap", {"code": "7K3M9QX8", "end": "A", "diameter_mm": -1}, "-1 is no diameter"),
        ("cable_flag", {"code": "7K3M9QX8", "end": "C", "diameter_mm": 3}, "'C' is no end"),
    ],
)
def test_a_wrong_label_says_what_is_wrong_and_what_is_allowed(kind, fields, words):
    with pytest.raises(LabelError, match=words):
        label(kind, **fields)


def test_empty_fields_are_left_out_and_spaces_are_tidied():
    made = label("port", code="7K3M9QX8", number=" 12 ", equipment="SP \t 03", place_code="")

    assert made.fields == (("number", "12"), ("equipment", "SP 03"))


def test_both_ends_of_a_cable_name_each_other():
    first, second = both_ends(
        "cable_flag",
        codes=("7K3M9QX8", "1H62WV5J"),
        place_codes=("C2-R1", "HE-01"),
        diameter_mm=3,
        name="FC-0102",
    )

    assert dict(first.fields) == {
        "name": "FC-0102",
        "end": "A",
        "near_end": "C2-R1",
        "far_end": "HE-01",
    }
    assert dict(second.fields)["near_end"] == "HE-01"
    assert (first.code, second.code) == ("7K3M9QX8", "1H62WV5J")


def test_the_smallest_module_can_be_raised_but_not_lowered():
    assert LabelSettings("LABELS.ORG", smallest_module_mm=0.396).smallest_module_mm == 0.396
    with pytest.raises(LabelError, match=r"0\.3 mm is under the published smallest"):
        LabelSettings("LABELS.ORG", smallest_module_mm=0.3)

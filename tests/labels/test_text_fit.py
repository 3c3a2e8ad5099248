"""Text shrinks to its floor, then wraps, and is refused rather than cut."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labels.text_fit import CORD_CAP_MM, LEGIBLE_CAP_MM, Line, TextTooLongError, fit, height_of
from labels.typefaces import BOLD, REGULAR, cap_height, measure

CAP_EM = cap_height(REGULAR)


def _width_mm(text, cap_mm, weight=REGULAR):
    return measure(text, weight).width * cap_mm / cap_height(weight)


def _caps_mm(rows):
    return [row.size_mm * CAP_EM for row in rows]


@pytest.mark.parametrize(("floor_mm", "distance_mm"), [(LEGIBLE_CAP_MM, 425), (CORD_CAP_MM, 320)])
def test_a_floor_is_the_least_that_is_published_at_its_distance(floor_mm, distance_mm):
    """Source: NUREG-0700 rev. 2, 1.3.1-4: at least 16 minutes of arc; 6.283 D MA / 21600."""
    assert floor_mm >= 6.283 * distance_mm * 16 / 21_600


def test_text_with_room_is_set_as_large_as_wanted():
    (row,) = fit((Line("SP-03", REGULAR, 3.0, 1.5),), 50, 20)

    assert _caps_mm([row]) == [pytest.approx(3.0)]
    assert row.width_mm == pytest.approx(_width_mm("SP-03", 3.0))


def test_a_line_shrinks_to_its_width_before_it_wraps():
    room_mm = _width_mm("C2-R1 HE-01", 2.0)

    (row,) = fit((Line("C2-R1 HE-01", REGULAR, 3.0, 1.5),), room_mm, 20)

    assert _caps_mm([row]) == [pytest.approx(2.0)]


def test_a_line_at_its_floor_wraps_at_spaces_and_hyphens():
    room_mm = _width_mm("CUPBOARD-", 1.5) + 0.01

    rows = fit((Line("CUPBOARD-7 OF ROW 3", REGULAR, 3.0, 1.5),), room_mm, 20)

    assert [row.text for row in rows] == ["CUPBOARD-", "7 OF ROW", "3"]
    assert _caps_mm(rows) == [pytest.approx(1.5)] * 3


def test_chinese_wraps_between_characters():
    rows = fit((Line("三号楼配线箱", REGULAR, 2.0, 2.0),), _width_mm("三号楼配", 2.0), 20)

    assert "".join(row.text for row in rows) == "三号楼配线箱"
    assert len(rows) == 2


def test_a_row_does_not_begin_with_a_closing_mark():
    rows = fit(
        (Line("不可见激光。每根光纤", REGULAR, 2.0, 2.0),), _width_mm("不可见激光", 2.0), 20
    )

    assert [row.text for row in rows] == ["不可见激", "光。每根光", "纤"]


def test_a_paragraph_wraps_before_it_shrinks():
    words = "NEVER LOOK INTO A FIBRE OR PORT"

    rows = fit((Line(words, REGULAR, 3.0, 1.5, is_paragraph=True),), 25, 20)

    assert " ".join(row.text for row in rows) == words
    assert len(rows) > 1
    assert _caps_mm(rows) == [pytest.approx(3.0)] * len(rows)


def test_rows_shrink_together_to_their_height():
    lines = (Line("12", BOLD, 8.0, 1.5), Line("SP-03", REGULAR, 3.0, 1.5))

    rows = fit(lines, 50, 9)

    assert height_of(rows) <= 9
    assert height_of(rows) > 8.5  # and no more than needed


def test_a_word_too_wide_at_its_floor_is_refused_with_the_figures():
    with pytest.raises(TextTooLongError) as refused:
        fit((Line("NEW CUPBOARD", REGULAR, 3.0, 2.0),), 10, 20)

    assert "'CUPBOARD' needs 1" in refused.value.message
    assert "(capitals of 2 mm); the label leaves 10.00 mm" in refused.value.message
    assert "wider stock" in refused.value.hint


def test_rows_too_many_at_their_floor_are_refused_with_the_figures():
    lines = tuple(Line(f"LINE {number}", REGULAR, 3.0, 2.0) for number in range(4))

    with pytest.raises(TextTooLongError, match=r"needs 12\.\d\d mm .* leaves 8\.00 mm"):
        fit(lines, 50, 8)


@given(
    texts=st.lists(
        st.text(alphabet="ABWI0189-/ ŮΩЖ三配", min_size=1, max_size=30).filter(str.strip),
        min_size=1,
        max_size=5,
    ),
    width_mm=st.floats(4, 90),
    height_mm=st.floats(3, 60),
)
def test_nothing_runs_over_an_edge_and_nothing_is_lost(texts, width_mm, height_mm):
    lines = tuple(Line(text, REGULAR, 4.0, 1.5) for text in texts)

    try:
        rows = fit(lines, width_mm, height_mm)
    except TextTooLongError:
        return

    assert all(row.width_mm <= width_mm + 1e-6 for row in rows)
    assert height_of(rows) <= height_mm + 1e-6
    assert min(_caps_mm(rows)) >= 1.5 - 1e-6
    printed = "".join(row.text for row in rows).replace(" ", "")
    assert printed == "".join(texts).replace(" ", "")

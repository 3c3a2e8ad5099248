"""The neutral sheet shows what is patched, by numbers only."""

import pytest

from labels.neutral_sheet import Cupboard, Patch, SheetWords, neutral_sheets
from labels.print_run import NothingToPrintError
from labels.text_fit import TextTooLongError
from tests.labels.readers import page_texts

PATCHES = [
    Patch("P1", str(port), f"FC-{port // 12:04d}", str(port % 12 + 1)) for port in range(80)
]


def sheet_of(patches):
    return neutral_sheets([Cupboard("RC-04", patches)], "2026-11-25")


def test_a_long_sheet_goes_over_pages_with_cupboard_date_and_count_on_each():
    printed = sheet_of(PATCHES)

    pages = [" ".join(words) for words in page_texts(printed.content)]

    assert printed.pages == len(pages) == 3
    for number, text in enumerate(pages, start=1):
        assert text.startswith(
            f"Present patching RC-04 as of 2026-11-25, page {number} of 3 Panel"
        )


def test_every_row_stands_there_once_and_nothing_else_does():
    printed = sheet_of(PATCHES)

    words = [word for page in page_texts(printed.content) for word in page]

    head = "Present patching RC-04 as of 2026-11-25, page 1 of 3 Panel Port Cable Fibre Leg"
    heads = head.split()
    given = [text for p in PATCHES for text in (p.panel, p.port, p.cable, p.fibre)]
    assert len(words) == 3 * len(heads) + len(given)
    assert set(words) <= set(heads) | set(given)


def test_a_row_has_fields_for_numbers_only():
    """Source: BSI measure M 2.19, no hint of use."""
    assert list(Patch.__slots__) == ["panel", "port", "cable", "fibre", "leg"]


def test_an_empty_cupboard_says_so():
    printed = sheet_of([])

    assert " ".join(page_texts(printed.content)[0]).endswith("Nothing is patched here.")


def test_the_words_are_the_owners():
    words = SheetWords("Aktuelle Beschaltung", "Stand", "Seite {page} von {pages}")

    printed = neutral_sheets([Cupboard("VS-4", PATCHES[:2])], "25.11.2026", words)

    assert "Stand 25.11.2026, Seite 1 von 1" in " ".join(page_texts(printed.content)[0])


def test_a_text_too_long_for_its_cell_is_refused():
    with pytest.raises(TextTooLongError, match=r"W{40}"):
        sheet_of([Patch("P1", "1", cable="W" * 40)])


def test_the_same_rows_give_the_same_bytes():
    assert sheet_of(PATCHES) == sheet_of(PATCHES)


def test_cupboards_in_one_file_begin_pages_of_their_own_and_count_them_for_themselves():
    cupboards = [Cupboard("RC-04", PATCHES), Cupboard("RC-05", PATCHES[:1]), Cupboard("RC-06", [])]

    printed = neutral_sheets(cupboards, "2026-11-25")

    heads = [" ".join(words[2:8]) for words in page_texts(printed.content)]
    assert heads == [
        "RC-04 as of 2026-11-25, page 1",
        "RC-04 as of 2026-11-25, page 2",
        "RC-04 as of 2026-11-25, page 3",
        "RC-05 as of 2026-11-25, page 1",
        "RC-06 as of 2026-11-25, page 1",
    ]
    assert (printed.pages, printed.labels) == (5, 3)


def test_no_cupboard_is_no_sheet():
    with pytest.raises(NothingToPrintError, match="no cupboard here"):
        neutral_sheets([], "2026-11-25")

"""QR symbols against the published capacities and against other people's encoder and decoder."""

import csv
import random
import re
from pathlib import Path

import pytest
import segno
from PIL import Image

from labels import qr
from labels.stock import DOT_MM
from tests.labels.readers import codes, read

CAPACITIES = list(csv.DictReader(qr.CAPACITY.read_text(encoding="utf-8").splitlines()))
ALPHANUMERIC = sorted(qr.ALPHANUMERIC)


def _picture(symbol, dots=4):
    side = (symbol.side_modules + 8) * dots
    picture = Image.new("L", (side, side), 255)
    for x, y, count in symbol.runs:
        box = ((x + 4) * dots, (y + 4) * dots, (x + count + 4) * dots, (y + 5) * dots)
        picture.paste(0, box)
    return picture


@pytest.mark.parametrize(
    "row", CAPACITIES, ids=[f"{row['version']}-{row['level']}" for row in CAPACITIES]
)
def test_the_published_capacity_fits_and_one_more_does_not(row):
    draw = random.Random(row["version"] + row["level"])
    version, level = int(row["version"]), row["level"]
    full = "".join(draw.choices(ALPHANUMERIC, k=int(row["alphanumeric"])))
    full_bytes = "".join(draw.choices("abcdefghij", k=int(row["byte"])))

    for text in (full, full_bytes):
        symbol = qr.encode(text, version, level)
        assert (symbol.version, symbol.side_modules) == (version, int(row["side_modules"]))
        assert read(_picture(symbol)) == [text]
        with pytest.raises(qr.LinkError, match=f"are over the {len(text)} that"):
            qr.encode(text + text[0], version, level)


def test_symbols_agree_bit_by_bit_with_another_encoder():
    for code in codes(50):
        text = qr.link(code, "LABELS.ORG")
        symbol = qr.encode(text, 2, "Q")
        other = segno.make(text, version=2, error="q", mask=0, mode="alphanumeric")
        dark = {(x + i, y) for x, y, count in symbol.runs for i in range(count)}
        assert dark == {
            (x, y) for y, row in enumerate(other.matrix) for x, bit in enumerate(row) if bit
        }


def test_a_link_is_upper_case_and_stays_in_29_characters():
    link = qr.link("7K3M9QX8", "labels.org")

    assert link == "HTTPS://LABELS.ORG/T/7K3M9QX8"
    assert (len(link), qr.mode_of(link)) == (29, "alphanumeric")
    assert qr.choose(link, 17, DOT_MM[600], 0.35).version == 2


def test_lower_case_is_a_setting_and_costs_a_version():
    link = qr.link("7K3M9QX8", "LABELS.ORG", upper_case=False)

    assert link == "https://labels.org/t/7k3m9qx8"
    assert (qr.mode_of(link), qr.choose(link, 17, DOT_MM[600], 0.35).version) == ("byte", 3)


@pytest.mark.parametrize(
    "host",
    ["", "HTTPS://LABELS.ORG", "LABELS.ORG/", "LAB ELS.ORG", "-A.ORG", "A..B", "Ä.ORG", "A_B"],
)
def test_a_host_that_is_none_is_refused(host):
    with pytest.raises(qr.LinkError, match=re.escape(f"{host!r} is not a host name")):
        qr.link("7K3M9QX8", host)


def test_a_host_may_carry_a_port():
    assert qr.link("7K3M9QX8", "records.local:8443") == "HTTPS://RECORDS.LOCAL:8443/T/7K3M9QX8"


@pytest.mark.parametrize(
    ("dpi", "version", "smallest_mm", "published_mm"),
    [
        # Sizes at whole dots with quiet zone, from the printers' dot widths.
        (203, 2, 0.35, 12.4),
        (203, 3, 0.35, 13.9),
        (203, 2, 0.396, 16.5),
        (300, 2, 0.35, 14.0),
        (300, 3, 0.35, 15.7),
        (600, 2, 0.35, 12.6),
        (600, 3, 0.35, 14.1),
        (600, 2, 0.396, 14.0),
    ],
)
def test_the_smallest_symbol_of_a_printer_has_whole_dots(dpi, version, smallest_mm, published_mm):
    text = "A" * (29 if version == 2 else 47)

    size = qr.smallest(text, DOT_MM[dpi], smallest_mm)

    assert size.version == version
    assert size.side_mm == pytest.approx((17 + 4 * version + 8) * size.module_dots * DOT_MM[dpi])
    assert size.side_mm == pytest.approx(published_mm, abs=0.06)


def test_the_width_agrees_with_the_published_sum():
    """(29 + 8) x 0.396 = 14.652 mm. Source: GS1 UK, how big should a QR code be."""
    assert qr.Size(3, "Q", 1, 0.396).side_mm == pytest.approx(14.652, abs=0.0005)


def test_no_module_is_ever_under_the_smallest():
    for room_tenths_mm in range(50, 300):
        for dot_mm in DOT_MM.values():
            try:
                size = qr.choose("A" * 29, room_tenths_mm / 10, dot_mm, 0.35)
            except qr.ModuleTooSmallError:
                continue
            assert 0.35 - 1e-9 <= size.module_mm <= 0.99 + 1e-9
            assert size.side_mm <= room_tenths_mm / 10 + 1e-9


def test_a_qr_too_small_is_refused_with_both_figures():
    with pytest.raises(qr.ModuleTooSmallError) as refused:
        qr.choose(qr.link("7K3M9QX8", "LABELS.ORG"), 8.0, DOT_MM[600], 0.35)

    assert "in 8.0 mm would have modules of 0.24 mm" in refused.value.message
    assert "0.381 mm (9 dots of 0.0423 mm)" in refused.value.message
    assert "12.6 mm of room" in refused.value.hint


def test_level_m_is_taken_where_q_would_be_too_small():
    link = qr.link("7K3M9QX8", "LABELS.EXAMPLE.ORG")  # 37 characters: 3-Q or 2-M

    assert qr.choose(link, 15.0, DOT_MM[600], 0.35).level == "Q"
    tight = qr.choose(link, 13.0, DOT_MM[600], 0.35)
    assert (tight.version, tight.level) == (2, "M")


def test_capacities_are_the_fixture_that_names_its_sources():
    assert Path(qr.CAPACITY).name == "qr_capacity.csv"
    assert all(row["source"] and row["confidence"] for row in CAPACITIES)
    assert qr.capacities()[2, "Q"]["alphanumeric"] == 29

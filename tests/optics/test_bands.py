import pytest

from records.optics.bands import (
    GPON_DOWN_NM,
    GPON_UP_NM,
    VIDEO_NM,
    XG_PON_DOWN_NM,
    XG_PON_UP_NM,
    covers,
    middle_nm,
    overlaps,
)
from tests.optics.catalogue import classes

CLASSES = classes()


@pytest.mark.parametrize(
    ("system", "down_nm", "up_nm"),
    # Source: the names the trade gives the bands of ITU-T G.984.2, G.987.2, G.9807.1; IEEE 802.3
    # puts its two generations into the same bands.
    [
        ("GPON", GPON_DOWN_NM, GPON_UP_NM),
        ("XG-PON", XG_PON_DOWN_NM, XG_PON_UP_NM),
        ("XGS-PON", XG_PON_DOWN_NM, XG_PON_UP_NM),
        ("EPON", GPON_DOWN_NM, GPON_UP_NM),
        ("10G-EPON", XG_PON_DOWN_NM, XG_PON_UP_NM),
    ],
)
def test_the_middle_of_a_band_is_the_wavelength_it_is_called_by(system, down_nm, up_nm):
    of_system = [each for each in CLASSES.values() if each.system == system]

    assert {middle_nm(each.down) for each in of_system} == {down_nm}
    assert {middle_nm(each.up) for each in of_system} == {up_nm}


def test_gpon_in_the_reduced_band_and_xgs_pon_share_a_fibre():
    # Source: operator specification citing ITU-T G.984.2: reduced up band 1290 to 1330 nm
    gpon, xgs_pon = CLASSES["GPON B+"], CLASSES["XGS-PON N1"]

    assert not overlaps(gpon.down, xgs_pon.down)
    assert not overlaps(gpon.up, xgs_pon.up)


def test_gpon_in_the_full_band_collides_with_xgs_pon_on_the_way_up():
    # Source: ITU-T G.984.2: full up band 1260 to 1360 nm; XGS-PON sends up in 1260 to 1280 nm
    gpon, xgs_pon = CLASSES["GPON B"], CLASSES["XGS-PON N1"]

    assert overlaps(gpon.up, xgs_pon.up)
    assert overlaps(xgs_pon.up, gpon.up)


def test_a_band_includes_its_ends_and_no_more():
    down = CLASSES["GPON B+"].down  # 1480 to 1500 nm

    assert [covers(down, nm) for nm in (1479, 1480, 1500, 1501)] == [False, True, True, False]


def test_a_video_overlay_is_in_no_band_of_a_pon():
    bands = [band for each in CLASSES.values() for band in (each.down, each.up)]

    assert not any(covers(band, VIDEO_NM) for band in bands)

"""A pictogram of the owner's own: what is taken in, what is refused, and how it is printed."""

import base64
import io

import pytest
from PIL import Image, ImageDraw, PngImagePlugin

from labels import orders, owner, seeds, shelf
from labels.design import LabelSettings, label
from labels.layout import lay_out
from labels.own_sign import PictogramError, read, taken_in, taken_in_again
from labels.refusals import LabelRefusal
from labels.roll_png import roll_png
from labels.sheet_pdf import sheet_pdf
from labels.sheet_svg import label_svg
from labels.standing import standings
from records.models import CautionSign, PrintRun
from tests.labels.readers import rasterised
from tests.labels.test_runs import box, print_
from tests.labels.test_runs_standing import caution, plant, plant_of_all, settle
from tests.unchanged import nothing_written

__all__ = ["plant", "plant_of_all"]

pytestmark = pytest.mark.django_db


def drawn(size=(120, 120), ground="yellow", ink="black"):
    """Return a plain sign: a black bar at the left of a coloured ground."""
    picture = Image.new("RGB", size, ground)
    ImageDraw.Draw(picture).rectangle((0, 0, size[0] // 3, size[1]), fill=ink)
    return picture


def png(picture, **options):
    stream = io.BytesIO()
    picture.save(stream, "PNG", **options)
    return stream.getvalue()


def test_a_picture_is_kept_in_three_colours_and_nothing_else_of_its_file():
    info = PngImagePlugin.PngInfo()
    info.add_text("Author", "someone at somewhere")

    kept = taken_in(png(drawn(), pnginfo=info))

    assert b"someone" not in base64.b64decode(kept)
    sign = read(kept)
    assert (sign.width_px, sign.height_px) == (120, 120)
    assert sign.black[0] == (0, 0, 41)
    assert sign.yellow[0] == (41, 0, 79)
    assert taken_in_again(kept) == kept


def test_smooth_edges_and_transparent_grounds_come_to_the_nearest_colour():
    smooth = drawn((480, 480)).resize((101, 101), Image.Resampling.LANCZOS)
    clear = Image.new("RGBA", (60, 60), (200, 0, 0, 0))
    ImageDraw.Draw(clear).rectangle((0, 0, 20, 59), fill="black")

    assert all(count > 0 for _x, _y, count in read(taken_in(png(smooth))).black)
    assert read(taken_in(png(clear))).yellow == ()


@pytest.mark.parametrize(
    ("file", "words"),
    [
        (b"", "not a PNG picture, or is broken"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "not a PNG"),
        (png(drawn())[:200], "not a PNG picture, or is broken"),
        (png(drawn((47, 120))), "has 47 by 120 pixels"),
        (png(drawn((401, 120))), "has 401 by 120 pixels"),
        (png(Image.new("1", (30_000, 30_000))), "far too many pixels"),
        (b"\x89PNG" + bytes(200_000), "has 200 kB"),
        (png(drawn(ground="red")), "66% of the picture is in other colours"),
        (png(drawn(ink="yellow")), "Hardly anything of the picture is black"),
        (png(Image.effect_noise((300, 300), 200)), "too finely patterned"),
        (
            png(drawn(), save_all=True, append_images=[drawn(ground="white")]),
            "The picture moves",
        ),
    ],
    ids=range(11),
)
def test_what_is_no_simple_sign_is_refused_and_says_what_to_give(file, words):
    with pytest.raises(PictogramError, match=words) as refusal:
        taken_in(file)

    assert "Give a PNG of 48 to 400 pixels a side" in refusal.value.hint


def test_a_jpeg_is_no_png():
    stream = io.BytesIO()
    drawn().save(stream, "JPEG")

    with pytest.raises(PictogramError, match="not a PNG"):
        taken_in(stream.getvalue())


OWN = taken_in(png(drawn((160, 80))))


def own_caution(picture=OWN):
    said = label("caution", signal="CAUTION", words="LASER LIGHT", pictogram=read(picture).name)
    return said, LabelSettings("L.EX", own_picture=picture)


def test_a_sheet_shows_the_picture_in_its_proportions_and_inside_the_cut():
    said, settings = own_caution()
    sheet = seeds.sheets()["A4-3x7"]
    mark = lay_out(said, sheet.face(), settings).sign

    page = rasterised(sheet_pdf([said], sheet, settings).content, 600)[0]

    def grey(across, down):
        x_mm = sheet.margin_left_mm + mark.x_mm + across * 160 * mark.pixel_mm
        y_mm = sheet.margin_top_mm + mark.y_mm + down * 80 * mark.pixel_mm
        return page.getpixel((round(x_mm / 25.4 * 600), round(y_mm / 25.4 * 600)))

    assert mark.x_mm >= 1
    assert 160 * mark.pixel_mm == pytest.approx(2 * 80 * mark.pixel_mm)
    assert [grey(0.02, 0.02), grey(0.32, 0.98)] == [0, 0]
    assert all(180 < each < 220 for each in (grey(0.36, 0.02), grey(0.98, 0.98)))  # yellow
    assert [grey(0.02, -0.02), grey(0.02, 1.02), grey(-0.01, 0.5)] == [255] * 3


@pytest.mark.parametrize("stock", ["die-57x32", "tape-24"])
def test_a_roll_shows_its_black_in_whole_dots(stock):
    said, settings = own_caution()
    roll = seeds.rolls()[stock]
    mark = lay_out(said, roll.face(), settings).sign

    picture = Image.open(io.BytesIO(roll_png([said], roll, settings).images[0]))

    dot = roll.face().dot_mm
    y = round((mark.y_mm + 40 * mark.pixel_mm) / dot)
    row = [picture.getpixel((x, y)) for x in range(round((mark.x_mm + 160 * mark.pixel_mm) / dot))]
    assert row.count(0) == pytest.approx(54 * mark.pixel_mm / dot, abs=1)


def test_the_screen_shows_the_same_strokes():
    said, settings = own_caution()

    svg = label_svg(lay_out(said, shelf.stock("A4-3x7").face(), settings))

    assert "M0 0h54v1h-54z" in svg
    assert 'fill="#ffcc00"' in svg


def test_a_picture_of_other_rules_is_not_printed_by_these():
    said, _settings = own_caution()

    with pytest.raises(LabelRefusal, match="no pictogram 'own picture"):
        lay_out(said, shelf.stock("A4-3x7").face(), LabelSettings("L.EX"))


def test_a_run_prints_the_picture_it_had_after_another_was_settled(plant):
    settle(pictogram="own", picture=OWN)
    run, content = print_([caution(plant)])
    other = taken_in(png(drawn((90, 90), ground="white")))

    settle(pictogram="own", picture=other)

    assert orders.reprinted(PrintRun.objects.get(pk=run.pk)).content == content
    (standing,) = standings([caution(plant)])
    assert standing.why == (f"pictogram: it shows “{read(OWN).name}”, now “{read(other).name}”",)


def test_only_runs_with_a_caution_keep_the_picture(plant):
    settle(pictogram="own", picture=OWN)

    run, _content = print_(box(plant, "S"))

    assert OWN not in run.rules


def test_the_countrys_pictogram_comes_back(plant):
    settle(language="en-US", pictogram="triangle")
    assert caution(plant).fields["pictogram"] == "triangle"

    settle(language="en-US")

    assert caution(plant).fields["pictogram"] == "starburst"
    assert not CautionSign.objects.exists()
    assert owner.sign().pictogram == ""


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"pictogram": "skull"}, "'skull' is not a pictogram known here"),
        ({"pictogram": "own"}, "needs its picture"),
        ({"pictogram": "triangle", "picture": OWN}, "no other takes one"),
        ({"pictogram": "own", "picture": "no base64!"}, "not written in base64"),
        ({"pictogram": "own", "picture": "QUJD"}, "not a PNG"),
    ],
)
def test_a_sign_that_is_none_leaves_the_rules_as_they_were(plant, fields, words):
    with nothing_written(), pytest.raises(Exception, match=words):
        settle(**fields)

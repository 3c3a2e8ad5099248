"""Paint a picture as SVG, with classes only: the content policy forbids inline styles."""

from collections.abc import Iterable

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from records.handover.shapes import Corner, Dot, Hatched, Picture, Polyline, Shape, Stroke, Words


def svg(picture: Picture) -> SafeString:
    """Return a picture for a page, told in words, with its hatch."""
    return format_html(
        '<svg class="picture" viewBox="0 0 {} {}" role="img" aria-labelledby="{}">'
        '<title id="{}">{}</title>'
        '<defs><pattern id="{}-hatch" width="8" height="8" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path d="M0 0V8" class="hatch"/></pattern></defs>'
        "{}</svg>",
        picture.width,
        picture.height,
        picture.name,
        picture.name,
        picture.words,
        picture.name,
        format_html_join("", "{}", ((_painted(each, picture.name),) for each in picture.shapes)),
    )


def _painted(shape: Shape, name: str) -> SafeString:
    match shape:
        case Words():
            return _words(shape)
        case Stroke():
            ways = "".join(_way(line, is_closed=shape.is_closed) for line in shape.lines)
            return format_html('<path class="{}" d="{}"/>', shape.look, ways)
        case Polyline():
            tag = "polygon" if shape.is_area else "polyline"
            points = " ".join(f"{x},{y}" for x, y in shape.corners)
            return format_html('<{} class="{}" points="{}"/>', tag, shape.look, points)
        case Dot():
            circle = '<circle class="{}" cx="{}" cy="{}" r="{}"/>'
            return format_html(circle, shape.look, shape.x, shape.y, shape.radius)
        case Hatched():
            return _hatched(shape, name)


def _words(shape: Words) -> SafeString:
    anchor = "" if shape.anchor == "start" else shape.anchor
    return format_html(
        '<text class="{}" x="{}" y="{}"{}>{}</text>',
        shape.look,
        shape.x,
        shape.y,
        format_html(' text-anchor="{}"', anchor) if anchor else "",
        shape.text,
    )


def _hatched(shape: Hatched, name: str) -> SafeString:
    return format_html(
        '<rect class="{}" x="{}" y="{}" width="{}" height="{}" fill="url(#{}-hatch)"/>',
        shape.look,
        shape.x,
        shape.y,
        shape.width,
        shape.height,
        name,
    )


def _way(line: Iterable[Corner], *, is_closed: bool) -> str:
    corners = "L".join(f"{x} {y}" for x, y in line)
    return f"M{corners}Z" if is_closed else f"M{corners}"

"""A picture as a file of its own: it brings the few styles that a page would give it.

Colours are those of the page on white paper. None of them speaks alone: the window is hatched
and dashed, a reading that is off is a cross, and each says its level.
"""

from django.utils.safestring import SafeString, mark_safe

_STYLE = """
svg { background: #fff; font-family: sans-serif; }
text { fill: #14211f; font-size: 12px; }
.tick { fill: #4a5a57; font-size: 11px; }
.grid { stroke: #b9c4c0; }
.hatch { stroke: #1b6a32; stroke-width: 1.5; opacity: .45; }
.limit { fill: none; stroke: #1b6a32; stroke-width: 2; stroke-dasharray: 6 4; }
.band { fill: #f0b400; opacity: .45; }
.typical { fill: none; stroke: #14211f; stroke-width: 2.5; stroke-linejoin: round; }
.dot { fill: #fff; stroke: #14211f; stroke-width: 2; }
.reading { stroke: #fff; stroke-width: 1.5; fill: #1b6a32; }
.reading.off { fill: none; stroke: #a01b1b; stroke-width: 3.5; }
.read { font-weight: 700; paint-order: stroke; stroke: #fff; stroke-width: 3; }
"""


def alone(picture: SafeString) -> SafeString:
    """Return a picture of a path as a whole SVG file, for a document that has no style sheet."""
    opening, bracket, rest = str(picture).partition(">")
    opening = opening.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    # The picture is made of escaped parts; what is added are constants.
    return mark_safe(f"{opening}{bracket}<style>{_STYLE}</style>{rest}")  # noqa: S308

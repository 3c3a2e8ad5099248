"""The shape beside each word of condition or verdict, so that colour never speaks alone.

Shapes are drawn on a grid of 16 by 16 in the colour of the text. They repeat what the word beside
them says, so screen readers pass over them.
"""

from functools import cache

from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

_RING = '<circle cx="8" cy="8" r="6" class="open"/>'
_DISC = '<circle cx="8" cy="8" r="7"/>'
_CROSS = '<path d="M4 4l8 8M12 4l-8 8" class="open"/>'

_SHAPES = {
    # Legs, and the states of bookings.
    "spare": _RING,
    "held": f'{_RING}<path d="M8 2a6 6 0 0 1 0 12z"/>',
    "live": _DISC,
    "onward": '<path d="M2 2l12 6-12 6z"/>',
    "barred": f'<rect x="2" y="2" width="12" height="12" class="open"/>{_CROSS}',
    "released": '<circle cx="8" cy="8" r="3" class="open"/>',
    # Fibres.
    "available": _RING,
    "used": _DISC,
    "unterminated": '<path d="M2 8h7M11 8h1M14 8h1" class="open"/>',
    "damaged": '<path d="M1 8h4l2-5 2 10 2-5h4" class="open"/>',
    # Light and readings.
    "good": '<path d="M2 8.5l4 4 8-9" class="open"/>',
    "as expected": '<path d="M2 8.5l4 4 8-9" class="open"/>',
    "low": '<path d="M8 14L2 6h12z"/>',
    "high": '<path d="M8 2l6 8H2z"/>',
    "unexpected": f'{_RING}<path d="M8 4.500v4.500M8 10.500v1" class="open"/>',
    "bad": '<path d="M8 1l7.500 14H.5z" class="open"/><path d="M8 6v4M8 12v1" class="open"/>',
    "no light": f'{_RING}<path d="M3.500 12.500l9-9" class="open"/>',
    "dark": f'{_RING}<path d="M3.500 12.500l9-9" class="open"/>',
    # The caution of places where there can be light.
    "caution": '<path d="M8 1l7.500 14H.5z" class="open"/><path d="M8 6v4M8 12v1" class="open"/>',
}


@cache
def drawn(word: str) -> SafeString:
    """Return the shape of a word as SVG; nothing for a word that has none."""
    if word not in _SHAPES:
        return SafeString("")
    return format_html(
        '<svg class="mark" viewBox="0 0 16 16" aria-hidden="true" focusable="false">{}</svg>',
        mark_safe(_SHAPES[word]),  # noqa: S308 (constants of this file)
    )

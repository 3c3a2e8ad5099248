"""A picture as a file of its own: it brings the few styles that a page would give it."""

from collections.abc import Iterator

from django.utils.safestring import SafeString, mark_safe

from records.handover.looks import LOOKS, PAPER, Look


def alone(picture: SafeString) -> SafeString:
    """Return a picture of a path as a whole SVG file, for a document that has no style sheet."""
    opening, bracket, rest = str(picture).partition(">")
    opening = opening.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    # The picture is made of escaped parts; what is added are constants.
    return mark_safe(f"{opening}{bracket}<style>{_STYLE}</style>{rest}")  # noqa: S308


def _rule(name: str, look: Look) -> str:
    said = "; ".join(f"{what}: {how}" for what, how in _said(look))
    return f".{name.replace(' ', '.')} {{ {said} }}"


def _said(look: Look) -> Iterator[tuple[str, str]]:
    yield "fill", look.fill
    yield "font-size", f"{look.size:g}px"
    if look.stroke != "none":
        yield "stroke", look.stroke
        yield "stroke-width", f"{look.width:g}"
    if look.opacity < 1:
        yield "opacity", f"{look.opacity:g}"
    if look.dash:
        yield "stroke-dasharray", " ".join(map(str, look.dash))
    if look.is_bold:
        yield "font-weight", "700"
    if look.has_halo:
        yield "paint-order", "stroke"
        yield "stroke", PAPER
        yield "stroke-width", "3"


_STYLE = "\n".join(
    (
        f"svg {{ background: {PAPER}; font-family: sans-serif; stroke-linejoin: round }}",
        *(_rule(name, look) for name, look in LOOKS.items()),
    )
)

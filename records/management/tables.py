"""Tables on a terminal."""

from collections.abc import Iterable

from django.core.management.base import OutputWrapper


def write_table(out: OutputWrapper, lines: Iterable[tuple[str, ...]]) -> None:
    """Write lines in columns as wide as their widest cell."""
    listed = list(lines)
    widths = [max(map(len, column)) for column in zip(*listed, strict=True)]
    for line in listed:
        cells = (cell.ljust(width) for cell, width in zip(line, widths, strict=True))
        out.write("  ".join(cells).rstrip())

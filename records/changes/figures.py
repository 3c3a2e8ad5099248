"""The figures of a catalogue entry as a crew gives them, and what must hold of them together."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from records.changes._checks import LOSS_MAX_DB, choice, text, whole
from records.changes.readings import WAVELENGTHS_NM
from records.changes.refusals import Malformed
from records.models import Bound, ClassDirection, Confidence, EntryKind, Figure
from records.optics.decibels import SAME_DB
from records.optics.losses import ideal_split_db

SOURCE_LONGEST = 300
NOTE_LONGEST = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenFigure:
    """One bound of a loss over a band of wavelengths, both ends included, with its source.

    `value_db` is dB, of fibre dB a kilometre. `branch` is for entries whose outputs (of a coupler:
    inputs) differ; it counts from 1.
    """

    bound: str
    wavelength_min_nm: int
    wavelength_max_nm: int
    value_db: float
    source: str
    url: str = ""
    confidence: str = Confidence.SECONDARY
    note: str = ""
    branch: int | None = None


class Form(NamedTuple):
    """How many inputs and outputs a kind of entry may have, and which of them may differ."""

    inputs: tuple[int, int]
    outputs: tuple[int, int]
    branches: str


# Source of 256: XG(S)-PON provides for splits of 1:256 (from memory); the others common practice.
FORMS = {
    EntryKind.SPLITTER: Form((1, 2), (2, 256), "outputs"),
    EntryKind.TAP: Form((1, 1), (2, 32), "outputs"),
    EntryKind.COUPLER: Form((2, 4), (1, 1), "inputs"),
}
STRAIGHT = Form((1, 1), (1, 1), "")


def form_of(kind: str) -> Form:
    """Return how many inputs and outputs a kind of entry may have."""
    return FORMS.get(EntryKind(kind), STRAIGHT)


def checked(
    kind: str, figures: Sequence[GivenFigure], *, inputs: int, outputs: int
) -> list[Figure]:
    """Return figures as rows to be stored. Raises: Malformed, naming the figure and its field."""
    if not figures:
        raise Malformed(
            "An entry needs figures.", hint="Give least, typical and most.", field="figures"
        )
    branches = {"inputs": inputs, "outputs": outputs}.get(form_of(kind).branches, 0)
    rows = [_row(number, given, branches) for number, given in enumerate(figures, start=1)]
    by_branch: dict[int | None, list[Figure]] = {}
    for row in rows:
        by_branch.setdefault(row.branch, []).append(row)
    _refuse_missing_branches(by_branch, branches)
    for branch, of_branch in by_branch.items():
        bands = list(_bands(of_branch, branch))
        if kind != EntryKind.COUPLER:
            _refuse_uncovered(bands, branch)
        if kind == EntryKind.SPLITTER and branch is None:
            _refuse_better_than_even(bands, outputs)
    return rows


def _row(number: int, given: GivenFigure, branches: int) -> Figure:
    """Return one figure as a row, checked on its own."""
    at = f"figures.{number}"
    choice(given.bound, Bound.values, field=f"{at}.bound")
    choice(given.confidence, Confidence.values, field=f"{at}.confidence")
    for name in ("wavelength_min_nm", "wavelength_max_nm"):
        noun = "wavelength in nm"
        whole(getattr(given, name), *WAVELENGTHS_NM, field=f"{at}.{name}", noun=noun)
    if given.wavelength_min_nm > given.wavelength_max_nm:
        raise Malformed(
            f"Figure {number} runs from {given.wavelength_min_nm} down to "
            f"{given.wavelength_max_nm} nm.",
            hint="Give the shorter wavelength first.",
            field=f"{at}.wavelength_max_nm",
        )
    if given.branch is not None:
        whole(given.branch, 1, branches, field=f"{at}.branch", noun="branch of this kind")
    return Figure(
        branch=given.branch,
        bound=given.bound,
        wavelength_min_nm=given.wavelength_min_nm,
        wavelength_max_nm=given.wavelength_max_nm,
        value_mdb=_value_mdb(number, given.value_db),
        source=text(given.source, SOURCE_LONGEST, field=f"{at}.source", needed=True),
        url=text(given.url, SOURCE_LONGEST, field=f"{at}.url"),
        confidence=given.confidence,
        note=text(given.note, NOTE_LONGEST, field=f"{at}.note"),
    )


def _value_mdb(number: int, value_db: float) -> int:
    if not math.isfinite(value_db) or not 0 <= value_db <= LOSS_MAX_DB:
        raise Malformed(
            f"Figure {number}: a loss of {value_db:g} dB is not possible.",
            hint=f"Give a number from 0 to {LOSS_MAX_DB}.",
            field=f"figures.{number}.value_db",
        )
    return round(value_db * 1000)


def _refuse_missing_branches(by_branch: Iterable[int | None], branches: int) -> None:
    given = set(by_branch)
    if given == {None}:
        return
    if None in given:
        raise Malformed(
            "Some figures name a branch and some do not.",
            hint="Name the branch in all of them, or in none if all are alike.",
            field="figures",
        )
    missing = sorted(set(range(1, branches + 1)) - given)
    if missing:
        raise Malformed(
            f"Branch {missing[0]} has no figures.",
            hint=f"Give figures for each of the {branches} branches.",
            field="figures",
        )


class _Band(NamedTuple):
    first_nm: int
    last_nm: int
    least_mdb: int
    typical_mdb: int
    most_mdb: int


def _bands(rows: Sequence[Figure], branch: int | None) -> Iterator[_Band]:
    """Return the bands of a branch, each with its three values in order."""
    starts = {row.wavelength_min_nm for row in rows}
    ends = {row.wavelength_max_nm + 1 for row in rows}
    for first, after in pairwise(sorted(starts | ends)):
        found = [row for row in rows if row.wavelength_min_nm <= first <= row.wavelength_max_nm]
        if found:
            yield _band(found, first, after - 1, branch)


def _band(found: Sequence[Figure], first: int, last: int, branch: int | None) -> _Band:
    where = _where(first, last, branch)
    values: dict[str, int] = {}
    for row in found:
        if row.bound in values:
            raise Malformed(
                f"{where} there are two figures for {row.bound}.",
                hint="Let the bands of one bound follow each other without overlap.",
                field="figures",
            )
        values[row.bound] = row.value_mdb
    missing = [bound for bound in Bound.values if bound not in values]
    if missing:
        raise Malformed(
            f"{where} there is no figure for {' and '.join(missing)}.",
            hint="Give all three over the same wavelengths.",
            field="figures",
        )
    ordered = [values[bound] for bound in (Bound.LEAST, Bound.TYPICAL, Bound.MOST)]
    if ordered != sorted(ordered):
        told = ", ".join(f"{mdb / 1000:g}" for mdb in ordered)
        raise Malformed(
            f"{where} least, typical and most are {told} dB.",
            hint="Give them in rising order.",
            field="figures",
        )
    return _Band(first, last, *ordered)


def _where(first: int, last: int, branch: int | None) -> str:
    of_branch = "" if branch is None else f" of branch {branch}"
    return f"From {first} to {last} nm{of_branch}"


def _refuse_uncovered(bands: Sequence[_Band], branch: int | None) -> None:
    """Refuse a gap at wavelengths that a class works at: light would stop there unexpectedly."""
    used = ClassDirection.objects.values_list("wavelength_min_nm", "wavelength_max_nm").distinct()
    for first, last in sorted(used):
        dark = [nm for nm in range(first, last + 1) if not _is_in(nm, bands)]
        if dark:
            raise Malformed(
                f"{_where(dark[0], dark[-1], branch)} there are no figures, "
                "though a class of the catalogue works there.",
                hint="Give figures for every wavelength in use.",
                field="figures",
            )


def _is_in(wavelength_nm: int, bands: Iterable[_Band]) -> bool:
    return any(band.first_nm <= wavelength_nm <= band.last_nm for band in bands)


def _refuse_better_than_even(bands: Iterable[_Band], outputs: int) -> None:
    """Refuse a splitter whose legs would together give more light than comes in."""
    even_db = ideal_split_db(outputs)
    for band in bands:
        # A thousandth of a dB for the rounding of published figures.
        if band.typical_mdb / 1000 + 1e-3 < even_db - SAME_DB:
            raise Malformed(
                f"A typical loss of {band.typical_mdb / 1000:g} dB for each of {outputs} legs "
                "would be more light than comes in.",
                hint=f"Even division alone costs {even_db:.2f} dB; check the number of legs.",
                field="figures",
            )

"""Check a sheet against itself and against the record. Reads only."""

from records.intake._assumptions import Assumptions
from records.intake._bookings import Bookings
from records.intake._cables import Cables
from records.intake._entries import entries
from records.intake._faults import Findings
from records.intake._feeders import note_feeders
from records.intake._fittings import Fittings
from records.intake._links import Links
from records.intake._locating import locate, note_no_estate
from records.intake._places import Places
from records.intake._plan import Draft, Plan
from records.intake._sheet import Sheet
from records.intake._splitters import Splitters
from records.intake._twice import note_twice
from records.intake._types import settled

LONG = 2_000
"""Rows that take long enough for others to notice: some 4 ms each, measured on SQLite."""

_DEFAULTS = Assumptions()


def check(sheet: Sheet, *, estate: str = "", assumptions: Assumptions = _DEFAULTS) -> Plan:
    """Return what taking a sheet in would do, with every fault that shows without doing it.

    `estate` is for rows that name none; without it the record's only estate is meant. The number
    of queries does not grow with the rows, but for one more with some hundreds of them.
    """
    findings = Findings(sheet.headers)
    types = settled(assumptions, findings)
    listed = entries(sheet, findings)
    drafts = [Draft(entry, {}) for entry in listed]

    places = Places(listed, estate)
    note_no_estate(listed, places, findings)
    for draft in drafts:
        locate(draft, places, findings)
    splitters = Splitters(drafts, places, types)
    for draft in drafts:
        cupboard = draft.entry.cupboard or assumptions.cupboard
        splitters.find(draft, places, cupboard, findings)
    cables = Cables(drafts, splitters)
    for draft in drafts:
        cables.find(draft, splitters.place_of(draft), findings)
    fittings = Fittings(drafts)
    for draft in drafts:
        fittings.find(draft, assumptions.outlet, findings)
    note_twice(drafts, findings)
    bookings = Bookings(drafts, splitters)
    links = Links(drafts, splitters, cables, fittings)
    for draft in drafts:
        bookings.find(draft, findings)
        links.find(draft, findings)
        links.find_reading(draft, assumptions.wavelength_nm)
    note_feeders(drafts, findings)

    if len(drafts) > LONG:
        message = f"{len(drafts)} rows hold up all other changes until they are in: better a "
        findings.remark(None, "", message + "sheet for each building.")

    faults, remarks = findings.in_order()
    return Plan(
        rows=tuple(draft.planned() for draft in drafts),
        cables=cables.specs(),
        splitter_types=splitters.types_brought(),
        lines={draft.entry.row: bookings.line_for(draft) for draft in drafts},
        types=types,
        assumptions=assumptions,
        headers=sheet.headers,
        faults=faults,
        remarks=(*sheet.remarks, *remarks),
    )

"""Whether each row can have its leg: bookings, lines and bars in the record."""

from collections import defaultdict
from collections.abc import Iterable

from records.intake._chunks import chunked
from records.intake._faults import Findings
from records.intake._plan import Draft, Item, Kind, pks_of
from records.intake._splitters import Splitters
from records.models import Booking, LegCondition, Line, Point
from records.queries.names import addresses, short_name


class Bookings:
    """The open bookings of the legs and flats of a sheet."""

    def __init__(self, drafts: Iterable[Draft], splitters: Splitters) -> None:
        """Read them with their lines."""
        listed = list(drafts)
        self._splitters = splitters
        flats = pks_of(listed, Kind.FLAT)
        self._lines: dict[int, list[Line]] = defaultdict(list)
        for line in chunked(Line.objects.order_by("pk"), "place__in", flats):
            self._lines[line.place_id].append(line)
        opened = Booking.objects.open().select_related("line__place", "leg__equipment")
        found = [
            *chunked(opened, "leg__equipment__in", splitters.by_pk),
            *chunked(opened, "line__place__in", flats),
        ]
        self._of_leg = {each.leg_id: each for each in found}
        self._of_line = {each.line_id: each for each in found}
        self._addresses = addresses({each.line.place for each in found})

    def find(self, draft: Draft, findings: Findings) -> None:
        """Put the booking of a row in, and note what stands in its way."""
        entry, splitter = draft.entry, draft.items.get(Kind.SPLITTER)
        flat = draft.items.get(Kind.FLAT)
        if splitter is None or flat is None or entry.leg is None:
            return
        leg = self._splitters.leg(draft)
        held = self._of_leg.get(leg.pk) if leg else None
        key = ("booking", *splitter.key, entry.leg)
        name = f"leg {entry.leg} of {entry.splitter} for {flat.name}"
        if held and held.line.place_id == flat.pk:
            self._note_other_line(draft, held, findings)
            draft.add(Item(Kind.BOOKING, key, name, held.pk))
            return
        if leg and not self._is_free(draft, leg, held, findings):
            return
        if self._has_free_line(draft, flat, findings):
            draft.add(Item(Kind.BOOKING, key, name))

    def _note_other_line(self, draft: Draft, held: Booking, findings: Findings) -> None:
        entry = draft.entry
        if entry.line and entry.line.casefold() != held.line.identifier.casefold():
            findings.fault(
                entry.row,
                "line",
                entry.line,
                f"Leg {entry.leg} of {entry.splitter} is {held.state} for line {held.line}.",
                allowed=f"{held.line}, or empty.",
            )

    def _is_free(self, draft: Draft, leg: Point, held: Booking | None, findings: Findings) -> bool:
        entry, name = draft.entry, f"Leg {draft.entry.leg} of {draft.entry.splitter}"
        if held:
            home = self._addresses[held.line.place_id]
            message = f"{name} is {held.state} for line {held.line} of {home}."
        elif leg.condition == LegCondition.BARRED:
            message = f"{name} is barred: {leg.barred_reason}."
        elif leg.condition == LegCondition.ONWARD:
            message = f"{name} feeds another splitter."
        else:
            return True
        spare = self._spare_legs(draft)
        findings.fault(entry.row, "leg", entry.leg, message, allowed=spare)
        return False

    def _spare_legs(self, draft: Draft) -> str:
        pk = draft.pk(Kind.SPLITTER)
        spare = sorted(
            number
            for (splitter, number), leg in self._splitters.legs.items()
            if splitter == pk and leg.condition == LegCondition.SPARE
        )
        listed = ", ".join(map(str, spare))
        return f"A spare leg: {listed}." if spare else "A leg of another splitter: none is spare."

    def _has_free_line(self, draft: Draft, flat: Item, findings: Findings) -> bool:
        entry = draft.entry
        lines = self._lines[flat.pk] if flat.pk else []
        if entry.line and entry.line.casefold() not in {e.identifier.casefold() for e in lines}:
            known = ", ".join(each.identifier for each in lines)
            findings.fault(
                entry.row,
                "line",
                entry.line,
                f"{flat.name} has no line {entry.line}.",
                allowed=f"{known}, or empty." if lines else "Empty: a new flat gets its own line.",
            )
            return False
        if not lines or self.line_for(draft) is not None:
            return True
        held = next((self._of_line[e.pk] for e in lines if self._is_meant(e, draft)), None)
        if held is not None:
            findings.fault(
                entry.row,
                "leg",
                entry.leg,
                f"{flat.name} already has {short_name(held.leg)} for line {held.line}.",
                allowed="That leg; or release its booking first.",
            )
        return False

    def _is_meant(self, line: Line, draft: Draft) -> bool:
        wanted = draft.entry.line.casefold()
        return not wanted or line.identifier.casefold() == wanted

    def line_for(self, draft: Draft) -> int | None:
        """Return the line to book for: the one named, else the flat's first without a leg."""
        flat = draft.pk(Kind.FLAT)
        for line in self._lines[flat] if flat else []:
            if self._is_meant(line, draft) and line.pk not in self._of_line:
                return line.pk
        return None

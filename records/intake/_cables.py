"""The cables of a sheet and their fibres."""

from collections import defaultdict
from collections.abc import Iterable

from records.intake._faults import Findings
from records.intake._keys import name_key
from records.intake._locating import place_key
from records.intake._plan import CableSpec, Draft, Item, Key, Kind
from records.intake._splitters import Splitters
from records.models import FIBRE_ENDS, Cable, Point
from records.queries.words import counted

SAME_LENGTH_M = 0.5
"""Two lengths of one cable closer than this are the same."""

_WIDEST = (Kind.FLAT, Kind.FLOOR, Kind.BUILDING, Kind.ESTATE)


class Cables:
    """The cables that leave the splitters of a sheet, and those that the sheet brings."""

    def __init__(self, drafts: Iterable[Draft], splitters: Splitters) -> None:
        """Read those in the record with their fibres' ends."""
        listed = [each for each in drafts if each.entry.cable]
        starts = {key[1] for each in listed for key in [splitters.place_of(each)] if key}
        wanted = {name_key(each.entry.cable) for each in listed}
        found = Cable.objects.filter(a_place__in=[pk for pk in starts if isinstance(pk, int)])
        self._recorded = {
            (place_key(each.a_place_id), name_key(each.name)): each
            for each in found.select_related("b_place")
            if name_key(each.name) in wanted
        }
        self.by_pk = {each.pk: each for each in self._recorded.values()}
        ends = Point.objects.filter(passage__cable__in=list(self.by_pk), role__in=FIBRE_ENDS)
        self.ends = {
            (each.passage.cable_id, each.number, each.role): each
            for each in ends.select_related("passage")
            if each.passage
        }
        self._users: dict[Key, list[Draft]] = defaultdict(list)

    def find(self, draft: Draft, start: Key | None, findings: Findings) -> None:
        """Put the cable of a row in. `start` is where it leaves. Note what clashes."""
        entry = draft.entry
        if not entry.cable or start is None or Kind.FLAT not in draft.items:
            return
        found = self._recorded.get((start, name_key(entry.cable)))
        if found is None:
            key: Key = ("cable", *start, name_key(entry.cable))
            draft.add(Item(Kind.CABLE, key, entry.cable))
            self._users[key].append(draft)
            self._note_new(draft, key, findings)
        else:
            draft.add(Item(Kind.CABLE, ("cable", found.pk), found.name, found.pk))
            self._note_recorded(draft, found, findings)

    def _note_new(self, draft: Draft, key: Key, findings: Findings) -> None:
        entry, first = draft.entry, self._users[key][0].entry
        if entry.length_m is None and not findings.is_blamed(entry.row, "length_m"):
            findings.fault(
                entry.row,
                "length_m",
                "",
                f"{entry.cable} is new and has no length.",
                allowed="Its fibre length in metres.",
            )
        said = next((u.entry for u in self._users[key] if u.entry.fibre_count), first)
        count = said.fibre_count
        if count and entry.fibre_count and entry.fibre_count != count:
            findings.fault(
                entry.row,
                "fibre_count",
                entry.fibre_count,
                f"Row {said.row} gives {entry.cable} {counted(count, 'fibre')}.",
                allowed="One count for one cable.",
                rows=(said.row, entry.row),
            )
        elif count and entry.fibre and entry.fibre > count:
            _no_such_fibre(draft, entry.cable, count, findings)

    def _note_recorded(self, draft: Draft, found: Cable, findings: Findings) -> None:
        entry = draft.entry
        if entry.fibre and entry.fibre > found.fibre_count:
            _no_such_fibre(draft, found.name, found.fibre_count, findings)
            return
        if entry.fibre_count and entry.fibre_count != found.fibre_count:
            findings.fault(
                entry.row,
                "fibre_count",
                entry.fibre_count,
                f"{found.name} has {counted(found.fibre_count, 'fibre')} in the record.",
                allowed=f"{found.fibre_count}, or empty.",
            )
        if not self._leads_to(found, draft):
            findings.fault(
                entry.row,
                "cable",
                entry.cable,
                f"{found.name} leads to {found.b_place} in the record.",
                allowed="The cable that leads to this flat, or a new name.",
            )
        self._note_fibre(draft, found, findings)

    def _leads_to(self, found: Cable, draft: Draft) -> bool:
        around = {draft.pk(kind) for kind in _WIDEST} - {None}
        return found.b_place_id in around

    def _note_fibre(self, draft: Draft, found: Cable, findings: Findings) -> None:
        entry = draft.entry
        end = self.end(draft, FIBRE_ENDS[0])
        if end is None or end.passage is None:
            return
        if end.passage.damage:
            findings.fault(
                entry.row,
                "fibre",
                entry.fibre,
                f"Fibre {entry.fibre} of {found.name} is damaged: {end.passage.damage}.",
                allowed="A sound fibre, or mark this one as mended first.",
            )
        recorded_m = end.passage.length_cm / 100
        if entry.length_m and abs(entry.length_m - recorded_m) > SAME_LENGTH_M:
            findings.remark(
                entry.row,
                "length_m",
                f"The record has {recorded_m:g} m for this fibre and keeps it; "
                "measure the fibre to change it.",
            )

    def end(self, draft: Draft, role: str) -> Point | None:
        """Return an end of the fibre of a row, if it is in the record."""
        pk, number = draft.pk(Kind.CABLE), draft.entry.fibre
        return self.ends.get((pk, number, role)) if pk and number else None

    def specs(self) -> dict[Key, CableSpec]:
        """Return each cable to lay, made of all rows that name it."""
        return {key: _spec(key, users) for key, users in self._users.items()}


def _no_such_fibre(draft: Draft, cable: str, count: int, findings: Findings) -> None:
    findings.fault(
        draft.entry.row,
        "fibre",
        draft.entry.fibre,
        f"{cable} has no fibre {draft.entry.fibre}.",
        allowed=f"From 1 to {count}.",
    )


def _spec(key: Key, users: list[Draft]) -> CableSpec:
    """Return a cable as long as its longest fibre, with as many as the sheet says or uses."""
    said = [each.entry for each in users]
    lengths_m = {e.fibre: e.length_m for e in said if e.fibre and e.length_m}
    length_m = max(lengths_m.values(), default=0.0)
    return CableSpec(
        name=said[0].cable,
        a_place=key[1:-1],
        b_place=_far_place(users),
        fibre_count=max(e.fibre_count or e.fibre or 1 for e in said),
        length_m=length_m,
        lengths_m={fibre: own_m for fibre, own_m in lengths_m.items() if own_m != length_m},
    )


def _far_place(users: list[Draft]) -> Key:
    """Return where a cable ends: the nearest place that is around all its flats."""
    for kind in _WIDEST:
        keys = {each.items[kind].key if kind in each.items else None for each in users}
        if len(keys) == 1 and None not in keys:
            return users[0].items[kind].key
    raise ValueError("The flats of a cable have no estate in common.")

"""How far new versions of catalogue entries have taken over from old ones."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q

from records.models import Cable, CatalogueEntry, Equipment, Joint, Passage, TakeOver
from records.queries.engine import ids, in_ids, rows

USERS = (Passage, Joint, Cable, Equipment)
"""What a catalogue entry is used by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """A take-over and what still uses the old version, counted now.

    `left` may exceed `take_over.uses` where the old version was chosen again since.
    """

    take_over: TakeOver
    left: int

    @property
    def moved(self) -> int:
        """Return how many of the things that used the old version use the new one."""
        return max(0, self.take_over.uses - self.left)

    @property
    def is_done(self) -> bool:
        """Tell whether nothing uses the old version any more."""
        return self.left == 0

    @property
    def done_percent(self) -> float:
        """Return how much is done; 100 where there was nothing to do."""
        if self.is_done:
            return 100.0
        return 100.0 * self.moved / max(self.take_over.uses, self.left)


def uses(entry_id: int) -> int:
    """Return how many things use a version of an entry."""
    return sum(model.objects.filter(entry=entry_id).count() for model in USERS)


def newest_versions() -> dict[int, int]:
    """Return the newest version of each entry that another took over from, by its id."""
    newest: dict[int, int] = {}
    # From the latest take-over back, so that the heir of an heir is known when it is asked for.
    for old, new in TakeOver.objects.order_by("-pk").values_list("old", "new"):
        newest[old] = newest.get(new, new)
    return newest


def progress(take_over: TakeOver) -> Progress:
    """Return how far a take-over has come."""
    return Progress(take_over=take_over, left=uses(take_over.old_id))


def take_overs(*, entry: int | None = None) -> list[Progress]:
    """Return take-overs, newest first, each with how far it has come; of one entry or of all.

    The number of queries is fixed.
    """
    of_entry = Q() if entry is None else Q(old=entry) | Q(new=entry)
    listed = TakeOver.objects.filter(of_entry).select_related("old", "new", "change__actor")
    found = list(listed.order_by("-pk"))
    left = left_to_move(each.old_id for each in found)
    return [Progress(take_over=each, left=left[each.old_id]) for each in found]


def left_to_move(entry_ids: Iterable[int]) -> Counter[int]:
    """Return how many things use each of some versions, with one query."""
    wanted = ids(entry_ids)
    using = " UNION ALL ".join(
        f"SELECT entry_id FROM {model._meta.db_table} WHERE {in_ids('entry_id')}"
        for model in USERS
    )
    sql = f"SELECT entry_id, COUNT(*) FROM ({using}) used GROUP BY entry_id"
    return Counter(dict(rows(sql, [wanted] * len(USERS))))


def newer_version(entry: CatalogueEntry) -> CatalogueEntry | None:
    """Return the newest version of an entry if it is not this one."""
    newer = CatalogueEntry.objects.filter(
        kind=entry.kind, name=entry.name, version__gt=entry.version
    )
    return newer.order_by("-version").first()

"""Verbs for cables and their fibres: lay, rename, measure, damage, mend, remove."""

from decimal import Decimal

from records.changes import _light, _search
from records.changes._checks import (
    choice,
    existing,
    length_cm,
    loss_mdb,
    present_place,
    refuse_joined,
    refuse_unmeasured,
    text,
    whole,
)
from records.changes._transaction import OpenChange, verb
from records.changes.refusals import Malformed, NameTaken
from records.models import (
    FIBRE_ENDS,
    Cable,
    CableKind,
    CatalogueEntry,
    ColourScheme,
    EntryKind,
    Fibre,
    Noun,
    Passage,
    Place,
    Point,
    Polish,
    Reading,
    Role,
    Tag,
)
from records.queries.catalogue import default_entry
from records.queries.names import address, cable_name
from records.queries.words import counted

FIBRES_MAX = 6912
"""Fibres in one cable (common practice: the largest ribbon cables made)."""

CORD_FIBRES_MAX = 2


@verb
def lay(
    change: OpenChange,
    *,
    name: str,
    a_place: int,
    b_place: int,
    length_m: float,
    fibre_count: int = 1,
    kind: str = CableKind.CABLE,
    entry: int | None = None,
    colour_scheme: int | None = None,
    a_polish: str = "",
    b_polish: str = "",
    diameter_mm: Decimal | None = None,
) -> Cable:
    """Lay a cable or patch cord between two places.

    `length_m` is the length of the fibre, slack included. A polish means the fibres end in
    connectors there; blank means bare ends. Raises: Malformed, Missing, NameTaken.
    """
    choice(kind, CableKind.values, field="kind")
    limit = CORD_FIBRES_MAX if kind == CableKind.CORD else FIBRES_MAX
    whole(fibre_count, 1, limit, field="fibre_count", noun=f"fibre count of a {kind}")
    for value, field in ((a_polish, "a_polish"), (b_polish, "b_polish")):
        choice(value, ["", *Polish.values], field=field)
    a = present_place(a_place, field="a_place")
    b = present_place(b_place, field="b_place")
    name = text(name, 60, field="name", needed=True)
    refuse_same_name(a, name)

    cable = Cable.objects.create(
        kind=kind,
        name=name,
        a_place=a,
        b_place=b,
        entry=_fibre_entry(entry),
        colour_scheme=_scheme(colour_scheme),
        fibre_count=fibre_count,
        length_cm=length_cm(length_m),
        diameter_mm=_diameter(diameter_mm),
    )
    _draw_fibres(cable, {Role.A_END: a_polish, Role.B_END: b_polish})
    _search.index_cables([cable])
    change.say(f"laid {cable_name(cable)}, {counted(fibre_count, 'fibre')}, {cable.length_m:g} m")
    return cable


@verb
def rename(change: OpenChange, cable: int, *, name: str) -> Cable:
    """Give a cable or cord another name. Raises: Malformed, Missing, NameTaken."""
    found = existing(Cable.objects.select_related("a_place", "b_place"), cable, field="cable")
    name = text(name, 60, field="name", needed=True)
    refuse_same_name(found.a_place, name, but=found.pk)

    before = found.name
    Cable.objects.filter(pk=cable).update(name=name)
    found.name = name
    _search.index_cables([found])
    change.say(f"renamed {before} to {cable_name(found)}")
    return found


def refuse_same_name(a_place: Place, name: str, *, but: int | None = None) -> None:
    """Refuse a name that another cable from the same place has. Raises: NameTaken."""
    others = Cable.objects.exclude(pk=but) if but else Cable.objects.all()
    if others.filter(a_place=a_place, name__iexact=name).exists():
        raise NameTaken(
            f"There is already a cable {name} from {address(a_place)}.",
            hint="Give this one another name.",
            field="name",
        )


def _fibre_entry(entry: int | None) -> CatalogueEntry:
    if entry is None:
        return default_entry(EntryKind.FIBRE)
    found = existing(CatalogueEntry.objects, entry, field="entry")
    if found.kind != EntryKind.FIBRE:
        raise Malformed(
            f"{found.name} is a {found.kind} entry, not a fibre.",
            hint="Choose a fibre type, such as G.657.A2.",
            field="entry",
        )
    return found


def _scheme(scheme: int | None) -> ColourScheme | None:
    return existing(ColourScheme.objects, scheme, field="colour_scheme") if scheme else None


def _diameter(diameter_mm: Decimal | None) -> Decimal | None:
    if diameter_mm is not None and not 0 < diameter_mm <= 100:  # noqa: PLR2004 (said below)
        raise Malformed(
            f"A diameter of {diameter_mm} mm is not possible.",
            hint="Give a number above 0, up to 100 mm.",
            field="diameter_mm",
        )
    return diameter_mm


def _draw_fibres(cable: Cable, polishes: dict[str, str]) -> None:
    fibres = Passage.objects.bulk_create(
        [
            Passage(cable=cable, number=number, entry=cable.entry, length_cm=cable.length_cm)
            for number in range(1, cable.fibre_count + 1)
        ]
    )
    Point.objects.bulk_create(
        [
            Point(passage=fibre, role=role, side=side, number=fibre.number, polish=polishes[role])
            for fibre in fibres
            for side, role in enumerate(FIBRE_ENDS)
        ]
    )


@verb
def measure(
    change: OpenChange,
    cable: int,
    *,
    fibre: int,
    length_m: float | None = None,
    loss_db: float | None = None,
) -> Passage:
    """Record the measured length or loss of one fibre, which replace what was reckoned.

    Raises: Malformed, Missing.
    """
    found = _fibre(cable, fibre)
    if length_m is None and loss_db is None:
        raise Malformed(
            "Neither a length nor a loss is given.", hint="Give one of them.", field="loss_db"
        )

    if length_m is not None:
        found.length_cm = length_cm(length_m)
    if loss_db is not None:
        found.measured_mdb = loss_mdb(loss_db)
    Passage.objects.filter(pk=found.pk).update(
        length_cm=found.length_cm, measured_mdb=found.measured_mdb
    )
    ends = Point.objects.filter(passage_id=found.pk).values_list("pk", flat=True)
    _light.relight(change, _light.channels_at(ends))
    change.say(f"measured fibre {fibre} of {found.cable}")
    return found


@verb
def unmeasure(change: OpenChange, cable: int, *, fibre: int) -> Passage:
    """Take back a fibre's measured loss, so that its type's holds again. Raises: NotMeasured."""
    found = _fibre(cable, fibre)
    refuse_unmeasured(found.measured_mdb, f"Fibre {fibre} of {found.cable}")
    Passage.objects.filter(pk=found.pk).update(measured_mdb=None)
    found.measured_mdb = None
    ends = Point.objects.filter(passage_id=found.pk).values_list("pk", flat=True)
    _light.relight(change, _light.channels_at(ends))
    change.say(f"took back the measured loss of fibre {fibre} of {found.cable}")
    return found


def _fibre(cable: int, number: int) -> Passage:
    owner = existing(Cable.objects, cable, field="cable")
    whole(number, 1, owner.fibre_count, field="fibre", noun=f"fibre of {owner.name}")
    return Fibre.objects.select_related("cable").get(cable=owner, number=number)


@verb
def damage(change: OpenChange, cable: int, *, fibre: int, why: str) -> Passage:
    """Mark a fibre as damaged, so that it no longer counts as available. Raises: Malformed."""
    found = _fibre(cable, fibre)
    found.damage = text(why, 200, field="why", needed=True)
    Passage.objects.filter(pk=found.pk).update(damage=found.damage)
    change.say(f"marked fibre {fibre} of {found.cable} as damaged: {found.damage}")
    return found


@verb
def mend(change: OpenChange, cable: int, *, fibre: int) -> Passage:
    """Mark a damaged fibre as sound again. Raises: Malformed, Missing."""
    found = _fibre(cable, fibre)
    if not found.damage:
        raise Malformed(
            f"Fibre {fibre} of {found.cable} is not marked as damaged.",
            hint="Check the fibre number.",
            field="fibre",
        )
    found.damage = ""
    Passage.objects.filter(pk=found.pk).update(damage="")
    change.say(f"marked fibre {fibre} of {found.cable} as sound")
    return found


@verb
def remove(change: OpenChange, cable: int) -> None:
    """Take a cable or cord out of the record. Raises: Missing, StillJoined."""
    found = existing(Cable.objects.select_related("a_place", "b_place"), cable, field="cable")
    name = cable_name(found)
    ends = Point.objects.filter(passage__cable=found)
    refuse_joined(ends, name)

    why = f"removed: {name}"[:200]
    Tag.objects.filter(cable=found).update(cable=None, cable_end="", voided=why)
    Tag.objects.filter(point__in=ends).update(point=None, voided=why)
    Reading.objects.filter(point__in=ends).delete()
    ends.delete()
    Passage.objects.filter(cable=found).delete()
    found.delete()
    _search.forget(Noun.CABLE, cable)
    change.say(f"removed {name}")

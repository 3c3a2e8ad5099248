"""Verbs for cables and their fibres: lay, rename, measure, damage, mend, remove."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from records.changes import _light, _search
from records.changes._checks import (
    choice,
    existing,
    existing_all,
    first_twin,
    length_cm,
    loss_mdb,
    named_alike,
    present_places,
    refuse_joined,
    refuse_unmeasured,
    text,
    whole,
)
from records.changes._transaction import OpenChange, for_many, verb
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
    wanted = NewCable(
        name=name,
        a_place=a_place,
        b_place=b_place,
        length_m=length_m,
        fibre_count=fibre_count,
        kind=kind,
        entry=entry,
        colour_scheme=colour_scheme,
        a_polish=a_polish,
        b_polish=b_polish,
        diameter_mm=diameter_mm,
    )
    (cable,) = lay_all(change, [wanted])
    change.say(f"laid {cable_name(cable)}, {counted(fibre_count, 'fibre')}, {cable.length_m:g} m")
    return cable


@dataclass(frozen=True, slots=True, kw_only=True)
class NewCable:
    """A cable or cord to lay: see `lay`. `lengths_m` are of those fibres that differ from it."""

    name: str
    a_place: int
    b_place: int
    length_m: float
    fibre_count: int = 1
    kind: str = CableKind.CABLE
    entry: int | None = None
    colour_scheme: int | None = None
    a_polish: str = ""
    b_polish: str = ""
    diameter_mm: Decimal | None = None
    lengths_m: Mapping[int, float] = field(default_factory=dict)


@for_many
def lay_all(_change: OpenChange, wanted: Sequence[NewCable]) -> list[Cable]:
    """Lay many cables or cords. Raises: what `lay` raises."""
    for each in wanted:
        _refuse_impossible(each)
    starts = present_places([each.a_place for each in wanted], field="a_place")
    places = starts | present_places([each.b_place for each in wanted], field="b_place")
    names = [text(each.name, 60, field="name", needed=True) for each in wanted]
    _refuse_same_names([(starts[each.a_place], n) for each, n in zip(wanted, names, strict=True)])
    entries = _fibre_entries({each.entry for each in wanted})
    schemes = {each.colour_scheme for each in wanted if each.colour_scheme}
    colours = existing_all(ColourScheme.objects, schemes, field="colour_scheme") if schemes else {}

    laid = Cable.objects.bulk_create(
        Cable(
            kind=each.kind,
            name=name,
            a_place=places[each.a_place],
            b_place=places[each.b_place],
            entry=entries[each.entry],
            colour_scheme=colours[each.colour_scheme] if each.colour_scheme else None,
            fibre_count=each.fibre_count,
            length_cm=length_cm(each.length_m),
            diameter_mm=_diameter(each.diameter_mm),
        )
        for each, name in zip(wanted, names, strict=True)
    )
    _draw_fibres(list(zip(laid, wanted, strict=True)))
    _search.index_cables(laid)
    return laid


def _refuse_impossible(wanted: NewCable) -> None:
    kind, count = wanted.kind, wanted.fibre_count
    choice(kind, CableKind.values, field="kind")
    limit = CORD_FIBRES_MAX if kind == CableKind.CORD else FIBRES_MAX
    whole(count, 1, limit, field="fibre_count", noun=f"fibre count of a {kind}")
    for value, end in ((wanted.a_polish, "a_polish"), (wanted.b_polish, "b_polish")):
        choice(value, ["", *Polish.values], field=end)
    for number in wanted.lengths_m:
        whole(number, 1, count, field="lengths_m", noun=f"fibre of {wanted.name}")


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
    _refuse_same_names([(a_place, name)], but=but)


def _refuse_same_names(wanted: Sequence[tuple[Place, str]], *, but: int | None = None) -> None:
    others = Cable.objects.exclude(pk=but) if but else Cable.objects.all()
    keys = [(a_place.pk, name) for a_place, name in wanted]
    from_there = others.filter(a_place__in={place for place, _name in keys})
    there = named_alike(from_there, (name for _place, name in keys))
    at = first_twin(keys, there.values_list("a_place", "name"))
    if at is not None:
        a_place, name = wanted[at]
        raise NameTaken(
            f"There is already a cable {name} from {address(a_place)}.",
            hint="Give this one another name.",
            field="name",
        )


def _fibre_entries(wanted: set[int | None]) -> dict[int | None, CatalogueEntry]:
    """Return the types of fibre by what was asked for; None stands for the usual one."""
    named = [pk for pk in wanted if pk is not None]
    known = existing_all(CatalogueEntry.objects, named, field="entry") if named else {}
    found: dict[int | None, CatalogueEntry] = dict(known.items())
    if None in wanted:
        found[None] = default_entry(EntryKind.FIBRE)
    for each in found.values():
        if each.kind != EntryKind.FIBRE:
            raise Malformed(
                f"{each.name} is a {each.kind} entry, not a fibre.",
                hint="Choose a fibre type, such as G.657.A2.",
                field="entry",
            )
    return found


def _diameter(diameter_mm: Decimal | None) -> Decimal | None:
    if diameter_mm is not None and not 0 < diameter_mm <= 100:  # noqa: PLR2004 (said below)
        raise Malformed(
            f"A diameter of {diameter_mm} mm is not possible.",
            hint="Give a number above 0, up to 100 mm.",
            field="diameter_mm",
        )
    return diameter_mm


def _draw_fibres(laid: Iterable[tuple[Cable, NewCable]]) -> None:
    fibres, polishes = [], []
    for cable, wanted in laid:
        own_cm = {number: length_cm(long_m) for number, long_m in wanted.lengths_m.items()}
        for number in range(1, cable.fibre_count + 1):
            long_cm = own_cm.get(number, cable.length_cm)
            fibres.append(
                Passage(cable=cable, number=number, entry=cable.entry, length_cm=long_cm)
            )
            polishes.append((wanted.a_polish, wanted.b_polish))
    Passage.objects.bulk_create(fibres)
    Point.objects.bulk_create(
        Point(passage=fibre, role=role, side=side, number=fibre.number, polish=polish)
        for fibre, both in zip(fibres, polishes, strict=True)
        for side, (role, polish) in enumerate(zip(FIBRE_ENDS, both, strict=True))
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

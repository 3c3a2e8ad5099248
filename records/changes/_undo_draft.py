"""Put the steps that reverse a change in an order in which each can be done.

What joins and promises goes first, then what was brought in; then names and places turn back, what
was taken away is brought anew, and at last promised and joined again.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from records.changes.steps import Step
from records.models import TAGGED, EquipmentKind, JointEnd, Place, Role
from records.models.service import OPEN_STATES
from records.queries.deltas import Delta, Row, Turn
from records.queries.take_overs import newest_versions

_PAIRS = (EquipmentKind.PANEL, EquipmentKind.OUTLET, EquipmentKind.ATTENUATOR)
_TYPED = (*_PAIRS, EquipmentKind.SPLITTER, EquipmentKind.COUPLER)


def began(turns: Mapping[Any, Turn]) -> dict[Any, Row]:
    """Return the rows that a change began."""
    return {key: turn.after for key, turn in turns.items() if turn.before is None and turn.after}


def ended(turns: Mapping[Any, Turn]) -> dict[Any, Row]:
    """Return the rows that a change ended."""
    return {key: turn.before for key, turn in turns.items() if turn.after is None and turn.before}


def is_open(booking: Row | None) -> bool:
    """Tell whether a booking's row promises its leg."""
    return booking is not None and booking["state"] in OPEN_STATES


def joint_again(turn: Turn) -> bool:
    """Tell whether a joint that stayed has to be made anew, as no verb alters its housing."""
    return bool(turn.altered.keys() - {"measured_mdb"})


class UndoDraft:
    """The steps that reverse a change, gathered in order."""

    def __init__(self, number: int, changed: Delta) -> None:
        """Take what the change did."""
        self.number = number
        self.changed = changed
        self.steps: list[Step] = []
        self._made: dict[tuple[str, int], int] = {}
        self._newest = newest_versions()

    def gather(self) -> list[Step]:
        """Return the steps."""
        self._part()
        self._release()
        self._take_out()
        self._turn_back()
        self._bring_anew()
        self._light()
        self._promise()
        self._join()
        return self.steps

    def _add(self, verb: str, note: str = "", **arguments: Any) -> int:
        told = {name: value for name, value in arguments.items() if value is not None}
        self.steps.append(Step(verb=verb, arguments=told, note=note))
        return len(self.steps)

    # --- What stands is taken apart ----------------------------------------------------------

    def _part(self) -> None:
        joints = self.changed["joint"]
        again = {key for key, turn in joints.items() if joint_again(turn)}
        for joint in sorted(began(joints).keys() | again):
            self._add("joints.part", joint=joint)

    def _release(self) -> None:
        for turn in self.changed["booking"].values():
            if turn.after is not None and is_open(turn.after) and _leaves_its_leg(turn):
                self._add("bookings.release", leg=turn.after["leg_id"])
        for leg, turn in self.changed["point"].items():
            if turn.altered.get("barred_reason", ("", ""))[1]:
                self._add("bookings.unbar", leg=leg)

    def _take_out(self) -> None:
        for reading in sorted(began(self.changed["reading"])):
            self._add("readings.take_back", reading=reading)
        lit = {
            key: turn.after
            for key, turn in self.changed["channel"].items()
            if turn.after and (turn.before is None or "point_id" in turn.altered)
        }
        for channel, _row in sorted(
            lit.items(), key=lambda item: item[1]["standby_for_id"] is None
        ):
            self._add("channels.darken", channel=channel)
        for code in _bound(self.changed["tag"].values()):
            self._add("tags.void", code=code, why=f"change {self.number} is reversed")
        for cable in sorted(began(self.changed["cable"])):
            self._add("cables.remove", cable=cable)
        for equipment in sorted(began(self.changed["equipment"])):
            self._add("equipment.remove", equipment=equipment)

    # --- What stays turns back -----------------------------------------------------------------

    def _turn_back(self) -> None:
        self._reinstate()
        self._equipment()
        self._cables()
        self._places()
        for fibre in self.changed["passage"].values():
            self._fibre(fibre)
        for leg, turn in self.changed["point"].items():
            self._measured("bookings", turn, leg=leg)
        for joint, turn in self.changed["joint"].items():
            if not joint_again(turn):
                self._measured("joints", turn, joint=joint)

    def _reinstate(self) -> None:
        turns = self.changed["place"]
        gone = [key for key, turn in turns.items() if turn.altered.get("retired") == (False, True)]
        for place in _topmost(gone):
            self._add("places.reinstate", place=place.pk)
            for inner in _topmost(_retired_before(place, gone)):
                self._add("places.retire", place=inner.pk, note="it was retired before")

    def _places(self) -> None:
        turns = self.changed["place"]
        back = [key for key, turn in turns.items() if turn.altered.get("retired") == (True, False)]
        for place in _topmost([*began(turns), *back]):
            self._add("places.retire", place=place.pk, note="a place is never deleted")
        named = {
            key: turn.altered["name"][0] for key, turn in turns.items() if "name" in turn.altered
        }
        if len(named) == 1:
            ((key, name),) = named.items()
            self._add("places.rename", place=key, name=name)
        elif named:
            self._add("buildings.renumber", flats=list(named), names=list(named.values()))

    def _equipment(self) -> None:
        renamed: dict[int, Row] = {}
        for key, turn in self.changed["equipment"].items():
            if "place_id" in turn.altered:
                self._add("equipment.move", equipment=key, place=turn.altered["place_id"][0])
            if turn.before and {"name", "serial"} & turn.altered.keys():
                renamed[key] = turn.before
        # Two things may have swapped their names or serials, so all step aside first.
        if len(renamed) > 1:
            for key in renamed:
                self._add("equipment.rename", equipment=key, name=f"{key} aside", serial="")
        for key, row in renamed.items():
            self._add("equipment.rename", equipment=key, name=row["name"], serial=row["serial"])

    def _cables(self) -> None:
        for key, turn in self.changed["cable"].items():
            if turn.before and {"length_cm", "a_place_id", "b_place_id"} & turn.altered.keys():
                self._add(
                    "cable_works.reroute",
                    cable=key,
                    length_m=turn.before["length_cm"] / 100,
                    a_place=turn.before["a_place_id"],
                    b_place=turn.before["b_place_id"],
                )
        named = {
            key: turn.altered["name"][0]
            for key, turn in self.changed["cable"].items()
            if "name" in turn.altered
        }
        if len(named) > 1:
            for key in named:
                self._add("cables.rename", cable=key, name=f"{key} aside")
        for key, name in named.items():
            self._add("cables.rename", cable=key, name=name)

    def _fibre(self, turn: Turn) -> None:
        if turn.before is None or turn.after is None or turn.before["cable_id"] is None:
            return
        named = {"cable": turn.before["cable_id"], "fibre": turn.before["number"]}
        if "length_cm" in turn.altered:
            self._add("cables.measure", **named, length_m=turn.before["length_cm"] / 100)
        self._measured("cables", turn, **named)
        if "damage" in turn.altered:
            was = turn.altered["damage"][0]
            if was:
                self._add("cables.damage", **named, why=was)
            else:
                self._add("cables.mend", **named)

    def _measured(self, noun: str, turn: Turn, **named: Any) -> None:
        if "measured_mdb" in turn.altered:
            was = turn.altered["measured_mdb"][0]
            if was is None:
                self._add(f"{noun}.unmeasure", **named)
            else:
                self._add(f"{noun}.measure", **named, loss_db=was / 1000)

    # --- What went comes anew ------------------------------------------------------------------

    def _bring_anew(self) -> None:
        for key, row in sorted(ended(self.changed["equipment"]).items()):
            self._install(key, row)
        for key, row in sorted(ended(self.changed["cable"]).items()):
            self._lay(key, row)

    def _install(self, key: int, row: Row) -> None:
        ports = [
            port for port in ended(self.changed["point"]).values() if port["equipment_id"] == key
        ]
        backs = [port["polish"] for port in ports if port["role"] == Role.BACK]
        fronts = [port["polish"] for port in ports if port["role"] != Role.BACK]
        kind = row["kind"]
        self._made["equipment", key] = self._add(
            "equipment.install",
            note=f"a new thing in place of the {kind} that was removed",
            kind=kind,
            place=row["place_id"],
            name=row["name"],
            serial=row["serial"],
            entry=self._entry(row) if kind in _TYPED else None,
            ports=max(len(backs) if kind in _PAIRS else len(ports), 1),
            polish=fronts[0] if fronts else None,
            back_polish=backs[0] if backs else None,
            optical_class=row["optical_class_id"],
        )
        for port in ports:
            named = {"leg": self._point(port)}
            if port["measured_mdb"] is not None:
                self._add("bookings.measure", **named, loss_db=port["measured_mdb"] / 1000)

    def _lay(self, key: int, row: Row) -> None:
        fibres = {
            pk: each
            for pk, each in ended(self.changed["passage"]).items()
            if each["cable_id"] == key
        }
        polish = {
            end["role"]: end["polish"]
            for end in ended(self.changed["point"]).values()
            if end["passage_id"] in fibres
        }
        diameter_mm = row["diameter_mm"]
        self._made["cable", key] = self._add(
            "cables.lay",
            note="a new cable in place of the one that was removed",
            name=row["name"],
            a_place=row["a_place_id"],
            b_place=row["b_place_id"],
            length_m=row["length_cm"] / 100,
            fibre_count=row["fibre_count"],
            kind=row["kind"],
            entry=self._entry(row),
            colour_scheme=row["colour_scheme_id"],
            a_polish=polish[Role.A_END],
            b_polish=polish[Role.B_END],
            diameter_mm=None if diameter_mm is None else float(diameter_mm),
        )
        for fibre in sorted(fibres.values(), key=lambda each: each["number"]):
            self._fibre_anew(fibre, row, {"step": self._made["cable", key]})

    def _fibre_anew(self, fibre: Row, cable: Row, laid: dict[str, int]) -> None:
        named = {"cable": laid, "fibre": fibre["number"]}
        differs = fibre["length_cm"] != cable["length_cm"]
        loss_mdb = fibre["measured_mdb"]
        if differs or loss_mdb is not None:
            self._add(
                "cables.measure",
                **named,
                length_m=fibre["length_cm"] / 100 if differs else None,
                loss_db=None if loss_mdb is None else loss_mdb / 1000,
            )
        if fibre["damage"]:
            self._add("cables.damage", **named, why=fibre["damage"])

    def _light(self) -> None:
        for key, turn in self.changed["channel"].items():
            if turn.before and "point_id" not in turn.altered and "launch_mdbm" in turn.altered:
                self._launch(key, turn.before)
        anew = {
            key: turn.before
            for key, turn in self.changed["channel"].items()
            if turn.before and (turn.after is None or "point_id" in turn.altered)
        }
        for key, row in sorted(anew.items(), key=lambda item: item[1]["standby_for_id"] or 0):
            self._made["channel", key] = self._add(
                "channels.light",
                port=self._at(row["point_id"]),
                optical_class=row["optical_class_id"],
                standby_for=self._thing("channel", row["standby_for_id"]),
            )
            if row["launch_mdbm"] is not None:
                self._launch(key, row)

    def _launch(self, key: int, row: Row) -> None:
        channel = self._thing("channel", key)
        if row["launch_mdbm"] is None:
            self._add("channels.unmeasure", channel=channel)
        else:
            launch_dbm = row["launch_mdbm"] / 1000
            self._add("channels.measure", channel=channel, launch_dbm=launch_dbm)

    # --- Promised and joined again ---------------------------------------------------------------

    def _promise(self) -> None:
        for turn in self.changed["booking"].values():
            if turn.before is not None and is_open(turn.before) and _leaves_its_leg(turn):
                leg = self._at(turn.before["leg_id"])
                self._add("bookings.book", leg=leg, line=turn.before["line_id"])
        for leg, turn in self.changed["point"].items():
            if turn.before and turn.before["barred_reason"] and _barred_otherwise(turn):
                self._add("bookings.bar", leg=self._at(leg), why=turn.before["barred_reason"])

    def _join(self) -> None:
        for key, turn in sorted(self.changed["joint"].items()):
            if turn.before and (turn.after is None or joint_again(turn)):
                self._join_one(key, turn.before)

    def _join_one(self, key: int, row: Row) -> None:
        a, b = (self._at(point) for point in joint_points(self.changed, key))
        self._add(
            "joints.join",
            a=a,
            b=b,
            kind=row["kind"],
            entry=self._entry(row),
            stands_in=self._thing("equipment", row["stands_in_id"]),
            tray=row["tray"] or None,
            loss_db=None if row["measured_mdb"] is None else row["measured_mdb"] / 1000,
        )

    def _entry(self, row: Row) -> int:
        """Return the type of what comes anew: the version of it that is in use today."""
        entry: int = row["entry_id"]
        return self._newest.get(entry, entry)

    # --- References ------------------------------------------------------------------------------

    def _thing(self, noun: str, key: int | None) -> Any:
        """Return a thing's id, or a reference to the step that brings it anew."""
        if key is None:
            return None
        step = self._made.get((noun, key))
        return {"step": step} if step else key

    def _at(self, point: int) -> Any:
        turn = self.changed["point"].get(point)
        return self._point(turn.before) if turn and turn.before and not turn.after else point

    def _point(self, row: Row) -> Any:
        if row["equipment_id"] is not None:
            words = f"{Role(row['role']).label} {row['number']}"
            return {"step": self._made["equipment", row["equipment_id"]], "port": words}
        passage = ended(self.changed["passage"])[row["passage_id"]]
        step = self._made["cable", passage["cable_id"]]
        end = "A" if row["role"] == Role.A_END else "B"
        return {"step": step, "fibre": row["number"], "end": end}


def joint_points(changed: Delta, joint: int) -> list[int]:
    """Return the two points that a joint joined before the change, in the order of its sides."""
    sides = {
        turn.before["side"]: point
        for point, turn in changed["jointend"].items()
        if turn.before and turn.before["joint_id"] == joint
    }
    if not sides:  # the joint stayed where it is
        sides = dict(JointEnd.objects.filter(joint=joint).values_list("side", "point_id"))
    return [sides[1], sides[2]]


def _leaves_its_leg(turn: Turn) -> bool:
    """Tell whether a booking began, ended or went to another leg; held or live follows light."""
    was, now = is_open(turn.before), is_open(turn.after)
    return was != now or "leg_id" in turn.altered


def _barred_otherwise(turn: Turn) -> bool:
    return turn.after is None or "barred_reason" in turn.altered


def _bound(tags: Iterable[Turn]) -> list[str]:
    """Return the codes of the tags that a change hung on something."""
    return sorted(
        turn.after["code"]
        for turn in tags
        if turn.after and hangs(turn.after) and (turn.before is None or not hangs(turn.before))
    )


def hangs(tag: Row) -> bool:
    """Tell whether a tag's row is bound to a thing."""
    return any(tag[f"{noun}_id"] is not None for noun in TAGGED)


def _topmost(keys: Iterable[int]) -> list[Place]:
    """Return those places that lie inside none of the others."""
    found: list[Place] = []
    for place in Place.objects.filter(pk__in=set(keys)).order_by("path"):
        if not found or not place.path.startswith(found[-1].path):
            found.append(place)
    return found


def _retired_before(place: Place, gone: Iterable[int]) -> list[int]:
    inside = Place.objects.filter(path__startswith=place.path, retired=True).exclude(pk__in=gone)
    return list(inside.values_list("pk", flat=True))

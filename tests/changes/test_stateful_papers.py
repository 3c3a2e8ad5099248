"""Random papers: tags, print runs, scans, rules, versions of entries, and what is forgotten."""

from collections.abc import Callable
from datetime import timedelta
from itertools import cycle, islice
from typing import Any

from django.db.models import QuerySet
from hypothesis import event, note
from hypothesis import strategies as st
from hypothesis.stateful import invariant, rule

from labels import orders, runs, seeds
from labels.choices import line_items, place_items
from labels.item import Item
from labels.refusals import LabelRefusal
from labels.runs import Laid
from records.changes import (
    OpenChange,
    equipment,
    hazards,
    jobs,
    joints,
    label_rules,
    lines,
    places,
    prints,
    retention,
    sightings,
    tags,
)
from records.changes.tags import Binding
from records.models import (
    KEPT,
    TAGGED,
    Equipment,
    HazardStatement,
    Joint,
    Line,
    OwnStock,
    Place,
    PrintedLabel,
    PrintRun,
    Role,
    Sighting,
    Tag,
)
from records.models.tag_code import candidate
from records.queries.find import find
from records.queries.hazards import statements_for
from records.queries.prints import blank_count, latest_labels, newest_codes
from records.queries.retention import nameless
from records.queries.things import described, model_of
from records.queries.words import normalised
from tests.by_name import record_by_name
from tests.changes.machine import free, one, run
from tests.changes.remembering import kept_rows
from tests.changes.versions import Versions
from tests.factories import AT, opened, user
from tests.unchanged import everything

PLANT = """
    olt O
    splitter S 1:4
    terminal T @1
    flat 2
    O.1 = S
    S.1 - T
    light O.1 GPON B+
    """
CODES = list(islice(filter(None, map(candidate, range(0, 32**7, 10**6))), 16))
PEOPLE = ("crew", "ana", "ben")
FLATS = st.sampled_from("12")
STOCK = "A4-4x10"
LANGUAGE = next(iter(seeds.caution_words()))


class Office(Versions):
    """An office that prints, scans and forgets while the crew goes on working."""

    plant_text = PLANT

    def __init__(self) -> None:
        super().__init__()
        self.laid: list[Laid] = []
        self.voided: dict[str, str] = {}
        self.printed: dict[int, Any] = {}
        self.forgotten: list[str] = []

    def begin(self, data: st.DataObject) -> None:
        type(user()).objects.filter(pk=user("owner").pk).update(is_superuser=True)
        with opened() as change:
            tags.issue(change, count=2, candidates=CODES)
        self._open_line("1")
        of_riser = place_items(Place.objects.get(pk=self.plant.riser))
        for first in (4, 8):  # two runs for the same things: the later one comes too late
            self._lay(of_riser[:2], first)
        super().begin(data)

    def stands(self) -> Any:
        hung = {described(tag) for tag in Tag.objects.select_related(*TAGGED)} - {""}
        return {**record_by_name(), "hung": hung}

    def answers(self) -> Any:
        things = {
            noun: list(model_of(noun).objects.values_list("pk", flat=True)) for noun in TAGGED
        }
        words = ["flat 1", "s leg 1"]
        words += Line.objects.order_by("-pk").values_list("identifier", flat=True)[:2]
        return {
            "rows": kept_rows(),
            "found": {each: find(each) for each in words},
            "codes": newest_codes(things),
            "labels": latest_labels(things),
            "hazards": statements_for(Place.objects.all()),
            "blank": {each.pk: blank_count(each) for each in PrintRun.objects.all()},
        }

    # --- Tags ----------------------------------------------------------------------------------

    @rule(data=st.data(), count=st.integers(1, 2), codes=st.permutations(CODES))
    def tag(self, data: st.DataObject, count: int, codes: list[str]) -> None:
        blank = one(data, Tag.objects.filter(voided=""), "code") or codes[0]
        place, thing = one(data, Place.objects.all()), one(data, Equipment.objects.all())
        line, why = one(data, Line.objects.all()), self.name("torn ")
        self.make(
            data.draw(
                st.sampled_from(
                    [
                        lambda change: tags.issue(change, count=count, candidates=codes),
                        lambda change: tags.bind(change, blank, noun="line", thing=line),
                        lambda change: tags.bind(change, codes[0], noun="place", thing=place),
                        lambda change: tags.bind_all(
                            change,
                            [
                                Binding(code=blank, noun="place", thing=place),
                                Binding(code=codes[1], noun="equipment", thing=thing),
                            ][:count],
                        ),
                        lambda change: tags.void(change, blank, why=why),
                    ]
                )
            )
        )

    @rule(data=st.data(), ago_min=st.integers(0, 40))
    def see(self, data: st.DataObject, ago_min: int) -> None:
        tag = Tag.objects.get(pk=one(data, Tag.objects.all()))
        who = data.draw(st.sampled_from(PEOPLE))
        sightings.see(tag, by=user(who), at=AT - timedelta(minutes=ago_min))

    # --- Prints --------------------------------------------------------------------------------

    @rule(
        data=st.data(),
        flat=FLATS,
        first=st.integers(0, len(CODES)),
        count=st.integers(0, 3),
        is_new=st.booleans(),
    )
    def print_labels(
        self, data: st.DataObject, flat: str, first: int, count: int, *, is_new: bool
    ) -> None:
        """Print what is laid out now, or was much earlier."""
        if is_new or not self.laid:
            self._lay_out(data, flat, first, count)
        if self.laid:
            self._print(self.laid[data.draw(st.integers(0, len(self.laid) - 1))])

    def _lay_out(self, data: st.DataObject, flat: str, first: int, count: int) -> None:
        place = Place.objects.get(
            pk=data.draw(st.sampled_from([self.plant.riser, self.plant.flat(flat)]))
        )
        items = [
            *place_items(place),
            *(each for line in place.lines.all() for each in line_items(line)),
        ]
        start = data.draw(st.integers(0, 2))  # few, so that runs meet
        self._lay(items[start : start + count], first)

    def _lay(self, items: list[Item], first: int) -> None:
        """Lay out labels of things, or blank ones where there are none."""
        codes = islice(cycle(CODES), first, None)
        try:
            order = orders.ordered(STOCK)
            laid = (
                runs.lay_out(items, order, codes)
                if items
                else runs.lay_out_blanks(2, order, codes)
            )
        except LabelRefusal as refusal:
            note(f"  -> {refusal}")
        else:
            self.laid = [*self.laid[-3:], laid]

    def _print(self, laid: Laid) -> None:
        setting, labels = orders.setting_of(laid.order, laid.file.content), laid.to_print()
        refused = self.make(
            lambda change: prints.record(change, chosen="a test", setting=setting, labels=labels)
        )
        if refused:
            return
        new = {each.code for each in labels if each.is_new and each.noun}
        for tag in Tag.objects.filter(code__in=new):
            assert [each.code for each in _on_the_same(tag)] == [tag.code]
        printed = PrintRun.objects.latest("pk")
        for label in printed.labels.exclude(tag=None).select_related("tag"):
            holders = {noun: getattr(label.tag, f"{noun}_id") for noun in TAGGED}
            assert {noun: thing for noun, thing in holders.items() if thing} == (
                {label.noun: label.thing} if label.noun else {}
            )

    @rule(data=st.data())
    def spoil(self, data: st.DataObject) -> None:
        label, roll = one(data, PrintedLabel.objects.all()), one(data, PrintRun.objects.all())
        if label and data.draw(st.booleans()):
            self.make(lambda change: prints.spoil(change, label, why="smeared"))
        elif roll:
            self.make(lambda change: prints.void_blanks(change, roll, why="lost"))

    @rule(data=st.data(), shift_mm=st.integers(-11, 11))
    def settle(self, data: st.DataObject, shift_mm: int) -> None:
        stock = one(data, OwnStock.objects.all())
        place = one(data, Place.objects.all())
        stated = one(data, HazardStatement.objects.all())
        name = data.draw(st.sampled_from(["Ours", "Theirs"]))
        chores: list[Callable[[OpenChange], Any]] = [
            lambda change: label_rules.settle(
                change, host="a.example", smallest_module_mm=0.3, language=LANGUAGE
            ),
            lambda change: label_rules.settle(
                change, host="b.example", smallest_module_mm=0.35, language=LANGUAGE
            ),
            lambda change: label_rules.describe_stock(
                change, name=name, shape="sheet", geometry="{}"
            ),
            lambda change: label_rules.forget_stock(change, stock or 0),
            lambda change: label_rules.nudge(
                change, printer=name, stock=STOCK, right_mm=shift_mm, down_mm=0.5
            ),
            lambda change: hazards.state(
                change, place, hazard_level="1M", assessor="A. Assessor", stated_date=AT.date()
            ),
            lambda change: hazards.withdraw(change, stated or 0, why="assessed anew"),
        ]
        self.make(data.draw(st.sampled_from(chores)))

    # --- The crew goes on ----------------------------------------------------------------------

    @rule(data=st.data(), flat=FLATS)
    def work(self, data: st.DataObject, flat: str) -> None:
        name, where = self.name("Court "), self.plant.flat(flat)
        movable = Equipment.objects.exclude(kind="olt")
        thing, joint = one(data, movable), one(data, Joint.objects.all())
        place = one(data, Place.objects.filter(depth__gte=3))
        leg = one(data, free(role=Role.LEG))
        terminal = one(data, free(role=Role.TERMINAL))
        works: list[Callable[[OpenChange], Any]] = [
            lambda change: equipment.install(change, kind="terminal", place=where, name=name),
            lambda change: equipment.rename(change, thing or 0, name=name),
            lambda change: equipment.remove(change, thing or 0),
            lambda change: places.rename(change, place, name=name),
            lambda change: places.retire(change, place),
            lambda change: places.reinstate(change, place),
            lambda change: joints.part(change, joint or 0),
            lambda change: joints.patch(change, leg or 0, terminal or 0),
        ]
        who = data.draw(st.sampled_from(PEOPLE))
        self.make(data.draw(st.sampled_from(works)), actor=user(who))

    @rule(flat=FLATS, is_planned=st.booleans())
    def open_line(self, flat: str, *, is_planned: bool) -> None:
        if is_planned:
            self._plan_line(flat)
        else:
            self._open_line(flat)

    def _plan_line(self, flat: str) -> None:
        """Open a line by a job, whose steps say its reference too."""
        place, ref = self.plant.flat(flat), f"Quibble{self.name('')}x"
        step = {"verb": "lines.open", "arguments": {"place": place, "outside_ref": ref}}
        with opened() as change:
            job = jobs.draft(change, name=self.name("J"), place=self.plant.estate, steps=[step])
        if not jobs.preview(job.pk, actor=user(), at=AT).clash:
            with opened(actor=user("owner")) as change:
                jobs.approve(change, job.pk, revision=1)
            jobs.commit(job.pk, revision=1, actor=user(), at=AT)
        self.latest = None

    def _open_line(self, flat: str) -> None:
        ref = f"Quibble{self.name('')}x"
        self.make(lambda change: lines.open(change, place=self.plant.flat(flat), outside_ref=ref))

    # --- Forgetting ----------------------------------------------------------------------------

    @rule(
        data=st.data(),
        what=st.sampled_from(["ref", "ref", "person", "sightings"]),
        by=st.sampled_from(["owner", "owner", "owner", "crew"]),
    )
    def forget(self, data: st.DataObject, what: str, by: str) -> None:
        if what == "ref":
            self._forget_outside_ref(data, by)
        elif what == "person":
            self._forget_person(data, by)
        else:
            self._forget_sightings(data.draw(st.integers(-5, 40)), by)

    def _forget_outside_ref(self, data: st.DataObject, by: str) -> None:
        told = Line.objects.exclude(outside_ref="")
        is_any = not told or data.draw(st.sampled_from([False, False, True]))
        line = Line.objects.get(pk=one(data, Line.objects.all() if is_any else told))
        was = set(_past_refs(line)) - {""}
        refused = self.make(
            lambda change: retention.forget_outside_ref(change, line.pk), actor=user(by)
        )
        assert (not refused) == (by == "owner" and bool(was))
        if not refused:
            self.forgotten += [each.casefold() for each in was]
            for seen in self.seen.values():
                _blank(seen, line)
            event("forgot a reference")

    def _forget_person(self, data: st.DataObject, by: str) -> None:
        who = data.draw(st.sampled_from(["ana", "ben"]))
        person = user(who)
        refused = self.make(
            lambda change: retention.forget_person(change, person.pk), actor=user(by)
        )
        assert (not refused) == (by == "owner")
        if not refused:
            person.refresh_from_db()
            assert person.get_username() == nameless(person.pk)
            event("forgot a person")

    def _forget_sightings(self, ago_min: int, by: str) -> None:
        before = AT - timedelta(minutes=ago_min)
        was = list(Sighting.objects.order_by("pk").values_list("at", "by"))
        now = [(at, None if at < before else who) for at, who in was]
        refused = self.make(
            lambda change: retention.forget_sightings(change, seen_before=before), actor=user(by)
        )
        assert (not refused) == (by == "owner" and now != was and ago_min >= 0)
        if not refused:
            assert list(Sighting.objects.order_by("pk").values_list("at", "by")) == now
            event("forgot sightings")

    # --- Laws ----------------------------------------------------------------------------------

    @invariant()
    def what_is_forgotten_is_nowhere(self) -> None:
        if self.forgotten:
            told = repr(everything()).casefold()
            assert [each for each in self.forgotten if each in told] == []

    @invariant()
    def a_code_is_for_ever_and_a_void_one_stays_void(self) -> None:
        now = dict(Tag.objects.values_list("code", "voided"))
        for code, why in self.voided.items():
            assert code in now
            assert why in {"", now[code]}
        self.voided = now

    @invariant()
    def what_was_printed_stays_as_printed(self) -> None:
        now: dict[int, Any] = {each["id"]: each for each in PrintedLabel.objects.values()}
        for pk, was in self.printed.items():
            assert {**was, "spoiled": was["spoiled"] or now[pk]["spoiled"]} == now[pk]
        self.printed = now

    def teardown(self) -> None:
        try:
            for each in PrintRun.objects.all():
                assert orders.digest(orders.reprinted(each).content) == each.digest
        finally:
            super().teardown()


def _on_the_same(tag: Tag) -> QuerySet[Tag]:
    """Return the tags that hang on what this one hangs on."""
    thing = {f"{noun}_id": getattr(tag, f"{noun}_id") for noun in TAGGED}
    return Tag.objects.filter(**{noun: pk for noun, pk in thing.items() if pk}).filter(
        cable_end=tag.cable_end
    )


def _past_refs(line: Line) -> list[str]:
    past: Any = KEPT[Line].objects
    return list(past.filter(id=line.pk).values_list("outside_ref", flat=True))


def _blank(seen: dict[str, Any], line: Line) -> None:
    """Take out of what was seen what is forgotten of a line: no more and no less.

    Its reference goes, and where that was among its search words, all of these.
    """
    for row in seen["rows"]["line"]:
        if row["id"] == line.pk:
            row["outside_ref"] = ""
    for row in seen["rows"]["searchtext"]:
        is_its = (row["noun"], row["thing_id"]) == ("line", line.pk)
        if is_its and row["words"] != normalised(line.identifier):
            row["words"] = ""
            for words, found in seen["found"].items():
                left = [each for each in found if (each.noun, each.id) != ("line", line.pk)]
                seen["found"][words] = left


def test_random_papers_stay_true_and_what_is_forgotten_stays_so(db):
    run(Office, examples=15)

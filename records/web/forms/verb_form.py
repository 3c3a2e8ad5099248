"""The form of a verb: the fields it takes, and where it leads. What may be, the verb says."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.forms import BoundField
from django.http import QueryDict
from django.urls import reverse

from records.changes import VERBS, OpenChange, Refusal
from records.queries.option import Option
from records.queries.options import look_up, option, options
from records.web.forms.fields import ThingField
from records.web.whole import whole

SHOWN = 8
"""Options that fit on a phone's screen without hiding the rest of the form."""

Thing = tuple[str, int]
"""A noun and an id, as pages are addressed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chooser:
    """What stands below a field for a thing: the one chosen, and others to choose."""

    name: str
    text: str
    chosen: Option | None
    offered: tuple[Option, ...] = ()
    is_nearby: bool = False

    @property
    def first(self) -> tuple[Option, ...]:
        """Return what is shown at once; the rest is folded."""
        return self.offered[:SHOWN]

    @property
    def others(self) -> tuple[Option, ...]:
        """Return what is shown when asked for."""
        return self.offered[SHOWN:]

    @property
    def search_name(self) -> str:
        """Return the name of the field that takes the words to look up."""
        return search_name(self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class FormRow:
    """One field as the page shows it."""

    field: BoundField
    chooser: Chooser | None
    refusal: Refusal | None
    is_rare: bool

    @property
    def is_group(self) -> bool:
        """Tell whether the field has several controls under one heading."""
        return self.chooser is not None or self.field.use_fieldset

    @property
    def is_tick(self) -> bool:
        """Tell whether the field is one box to tick, whose label stands beside it."""
        return isinstance(self.field.field, forms.BooleanField)


def search_name(name: str) -> str:
    """Return the name of the words to look up for a field."""
    return f"{name}-words"


class VerbForm(forms.Form):
    """The shape of a verb's arguments. Field names are the verb's own."""

    do_not_call_in_templates: ClassVar[bool] = True  # the page of all forms lists the classes

    verb: ClassVar[str]
    title: str
    button: ClassVar[str]
    about: ClassVar[str] = ""
    is_destructive: ClassVar[bool] = False
    asks_first: ClassVar[str] = ""
    """The field whose value decides which others there are."""

    rare: tuple[str, ...] = ()
    """The fields that are seldom filled in, shown folded."""

    reason = forms.CharField(
        label="Reason",
        required=False,
        max_length=300,
        help_text="Why, for whoever reads the history. A job number will do.",
    )

    def __init__(self, data: QueryDict) -> None:
        """Bind what was sent."""
        super().__init__(data)
        self.refusal: Refusal | None = None
        self.label_suffix = ""
        self.address = reverse("do", args=[self.verb])
        if "why" in self.fields:
            del self.fields["reason"]
        self.order_fields([*(name for name in self.fields if name != "reason"), "reason"])

    @classmethod
    def filled(cls, query: QueryDict) -> QueryDict:
        """Return what the form starts with: what the link gave, and what is usual else."""
        data = query.copy()
        known = cls.known(data)
        for name, each in cls.base_fields.items():
            usual = known.get(name, each.initial)
            if name not in data and usual is not None:
                data[name] = str(usual)
        return data

    @classmethod
    def known(cls, query: QueryDict) -> dict[str, Any]:
        """Return what the record says of fields that the link left open."""
        return {}

    @classmethod
    def fields_of(cls, arguments: Mapping[str, Any]) -> dict[str, Any]:
        """Return the fields in which the form says these arguments of its verb."""
        return dict(arguments)

    def run(self, change: OpenChange) -> Any:
        """Do what the form says, within a change."""
        return VERBS[self.verb](change, **self.arguments())

    def reason_given(self) -> str:
        """Return why the change is made; a verb that asks why itself is not asked twice."""
        given: str = self.cleaned_data.get("reason") or self.cleaned_data.get("why", "")
        return given

    def arguments(self) -> dict[str, Any]:
        """Return the verb's arguments; what was left open is the verb's to settle."""
        return {
            name: value
            for name, value in self.cleaned_data.items()
            if name != "reason" and value is not None
        }

    def before(self) -> Thing | None:
        """Return the page to go to, asked before the verb is done."""
        return None

    def after(self, result: Any) -> Thing | None:
        """Return the page to go to, given what the verb returned."""
        return None

    def nearby(self, name: str) -> list[int]:
        """Return the ids to offer for a field before a word was typed."""
        return []

    def chosen(self, name: str) -> int | None:
        """Return the id that a field for a thing has, if it is one."""
        return whole(self.data.get(name, ""))

    def forgive_missing(self) -> None:
        """Forget complaints about what was not filled in yet, while nothing is to be recorded."""
        for name, errors in list(self.errors.as_data().items()):
            if all(error.code == "required" for error in errors):
                del self.errors[name]

    @property
    def first_answers(self) -> list[tuple[str, str]]:
        """Return the answers to what is asked first, none where nothing is."""
        if not self.asks_first:
            return []
        return list(self.fields[self.asks_first].choices)  # type: ignore[attr-defined]

    @property
    def general_refusal(self) -> Refusal | None:
        """Return the refusal where it belongs to no field of the form."""
        if self.refusal is not None and self.at_fault not in self.fields:
            return self.refusal
        return None

    @property
    def at_fault(self) -> str:
        """Return the field that a refusal is about; of one figure among many, their field."""
        return self.refusal.field.partition(".")[0] if self.refusal is not None else ""

    def rows(self) -> Iterator[FormRow]:
        """Yield the fields as the page shows them."""
        for name, each in self.fields.items():
            is_at_fault = self.refusal is not None and self.at_fault == name
            yield FormRow(
                field=self[name],
                chooser=self._chooser(name, each.source) if isinstance(each, ThingField) else None,
                refusal=self.refusal if is_at_fault else None,
                is_rare=name in self.rare,
            )

    @property
    def has_rare(self) -> bool:
        """Tell whether a rare field is filled in or at fault, so that they are shown unfolded."""
        usual = {name: self.fields[name].initial for name in self.rare if name in self.fields}
        return (
            any(
                self.data.get(name, "") not in {"", str(initial)} or name in self.errors
                for name, initial in usual.items()
            )
            or self.at_fault in self.rare
        )

    def open_choosers(self) -> list[str]:
        """Return the names of the fields for things in which nothing is chosen yet."""
        return [
            name
            for name, each in self.fields.items()
            if isinstance(each, ThingField) and self.chosen(name) is None
        ]

    def _chooser(self, name: str, source: str) -> Chooser:
        pk = self.chosen(name)
        chosen = option(source, pk) if pk is not None else None
        text = self.data.get(search_name(name), "").strip()
        near = [] if text or chosen else self.nearby(name)
        offered = look_up(source, text) if text else options(source, near)
        return Chooser(
            name=name,
            text=text,
            chosen=chosen,
            offered=tuple(each for each in offered if each.id != pk),
            is_nearby=bool(near),
        )

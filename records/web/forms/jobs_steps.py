"""The form of a step: a verb's own form, whose things may also be what earlier steps make.

It is shown and checked within a supposed record, in which the earlier steps are done (see
changes/supposing.py). There a thing that a step makes has an id like any other; here it is named
by a reference in words, such as `leg 3 of step 1`, which stays true when all is rolled back.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from functools import cache
from inspect import Parameter
from typing import Any

from django import forms
from django.http import QueryDict

from records.changes import Refusal, references
from records.changes.steps import Step, StepMalformed, StepRefused, parameters
from records.changes.supposing import Supposed
from records.models import DWELLINGS, FIBRE_ENDS, Place, Point, Role
from records.queries.option import Option
from records.web.effects import Effect, effect_of
from records.web.forms import FORMS
from records.web.forms.fields import BARE, PolishField, ThingField
from records.web.forms.verb_form import Chooser, VerbForm

_NOUNS = {"PON port": "point", "leg": "point", "port": "point", "dwelling": "place"}
"""The noun of a source of options, where it isn't the source's own name."""


class MadeOrThingField(ThingField):
    """A thing of the record or what an earlier step makes: an id, or a reference."""

    def to_python(self, value: Any) -> Any:
        reference = references.from_words(str(value or ""))
        return reference if reference is not None else super().to_python(value)


class StepForm(VerbForm):
    """What a step's form does otherwise than the form of its verb. Mixed in by `step_form`."""

    def __init__(self, data: QueryDict, supposed: Supposed) -> None:
        """Bind what was sent, within the record as the earlier steps leave it."""
        super().__init__(data)
        self.supposed = supposed
        self._by_words = {
            references.in_words(told): (noun, pk) for (noun, pk), told in supposed.new.items()
        }
        for name, each in self.fields.items():
            if isinstance(each, ThingField):
                self.fields[name] = MadeOrThingField(
                    each.source, label=each.label, required=each.required, help_text=each.help_text
                )
        # The reason of a change is the job's; a step has a note in its place on the page.
        self.fields["reason"] = forms.CharField(
            label="Note", required=False, max_length=300, help_text="For whoever does the step."
        )

    def chosen(self, name: str) -> int | None:
        _noun, pk = self._by_words.get(self.data.get(name, ""), ("", None))
        return pk if pk is not None else super().chosen(name)

    def nearby(self, name: str) -> list[int]:
        field = self.fields[name]
        made = self._made_for(field.source) if isinstance(field, ThingField) else []
        return [*made, *(each for each in super().nearby(name) if each not in made)]

    def _made_for(self, source: str) -> list[int]:
        """Return the ids of what earlier steps made and a field could take, latest step first."""
        noun = _NOUNS.get(source, source)
        steps = {
            pk: told["step"] for (each, pk), told in self.supposed.new.items() if each == noun
        }
        fitting = _fitting(source, list(steps))
        return sorted(fitting, key=lambda pk: (-steps[pk], pk))

    def _chooser(self, name: str, source: str) -> Chooser:
        chooser = super()._chooser(name, source)
        noun = _NOUNS.get(source, source)
        chosen = chooser.chosen and self._as_reference(noun, chooser.chosen)
        if chosen is None and references.from_words(self.data.get(name, "")):
            words = self.data[name]
            chosen = Option(id=words, title=words, detail="not there while a step before clashes")
        offered = tuple(self._as_reference(noun, each) for each in chooser.offered)
        return replace(chooser, chosen=chosen, offered=offered)

    def _as_reference(self, noun: str, option: Option) -> Option:
        told = self.supposed.new.get((noun, option.id)) if isinstance(option.id, int) else None
        if told is None:
            return option
        made = f"step {told['step']} makes it"
        detail = f"{option.detail}, {made}" if option.detail else made
        return replace(option, id=references.in_words(told), detail=detail)

    def step(self, kept: Step | None = None) -> Step:
        """Return the step that the form says; of the step as kept, what the form doesn't ask."""
        beside = kept.arguments if kept else {}
        unasked = {name: each for name, each in beside.items() if name not in self.fields}
        given = {name: _plain(value) for name, value in self.arguments().items()}
        return Step(
            verb=self.verb,
            arguments={**unasked, **given},
            note=str(self.cleaned_data.get("reason", "")),
        )

    def tried(self, kept: Step | None = None) -> Effect | None:
        """Return what the step would do; None where it isn't filled in or would be refused."""
        if not self.is_valid():
            self.forgive_missing()
            return None
        try:
            change = self.supposed.go_on(self.step(kept))
        except StepRefused as refused:
            self.refusal = refused.cause
            return None
        except StepMalformed as malformed:
            self.blame(malformed)
            return None
        return effect_of(change)

    def refusal_of(self, name: str) -> Refusal | None:
        """Return the refusal where a field is at fault."""
        return self.refusal if self.refusal is not None and self.refusal.field == name else None

    def blame(self, refusal: Refusal) -> None:
        """Show a refusal of a step beside the field at fault."""
        refusal.field = refusal.field.rpartition(".")[2]
        self.refusal = refusal


def _fitting(source: str, made: list[int]) -> list[int]:
    """Return those of some things that a source of options offers."""
    if source == "dwelling":
        found = Place.objects.filter(pk__in=made, kind__in=DWELLINGS)
        return list(found.values_list("pk", flat=True))
    if _NOUNS.get(source) != "point":
        return made
    points = Point.objects.filter(pk__in=made)
    if source == "leg":
        points = points.filter(role=Role.LEG)
    elif source == "PON port":
        points = points.filter(role=Role.PON)
    elif source == "port":
        points = points.exclude(role__in=FIBRE_ENDS)
    return list(points.values_list("pk", flat=True))


@cache
def step_form(verb: str) -> type[StepForm]:
    """Return the form of a step with this verb. Raises: KeyError for a verb without a form."""
    return type("StepForm", (StepForm, FORMS[verb]), {})


def filled_from(step: Step) -> QueryDict:
    """Return what a step's form starts with when the step is edited."""
    data = QueryDict(mutable=True)
    fields = FORMS[step.verb].base_fields
    given = {**_left_open(step.verb), **step.arguments}
    for name, value in FORMS[step.verb].fields_of(given).items():
        data[name] = _typed(value, fields.get(name))
    data["reason"] = step.note
    return data


def _left_open(verb: str) -> dict[str, Any]:
    """Return what a verb does where nothing is said, as the form has to say something."""
    defaults = {name: each.default for name, each in parameters(verb).items()}
    return {name: each for name, each in defaults.items() if each not in {Parameter.empty, None}}


def _typed(value: Any, field: forms.Field | None) -> str:
    """Return a kept value as a person would type or choose it."""
    if isinstance(value, Mapping):
        return references.in_words(value)
    if value is None:
        return ""
    if isinstance(value, bool):
        return "on" if value else ""
    if isinstance(field, PolishField) and not value:
        return BARE
    if isinstance(field, forms.DateTimeField):
        return f"{datetime.fromisoformat(value).astimezone(UTC):%Y-%m-%dT%H:%M:%S}"
    return str(value)


def _plain(value: Any) -> Any:
    """Return a form's value as a step keeps it."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    return float(value) if isinstance(value, Decimal) else value

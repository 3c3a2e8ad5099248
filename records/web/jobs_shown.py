"""Steps as people read them: a title, each argument by name, and what became of the step."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from records.changes import references
from records.changes.references import noun_needed
from records.changes.steps import plannable
from records.models import CatalogueEntry, ColourScheme, Job, OpticalClass
from records.queries.jobs import words_of_steps
from records.queries.options import SOURCES, options
from records.web.forms import FORMS, GROUPS
from records.web.forms.fields import PolishField, ThingField
from records.web.links import PAGED, url_of

_SAME = {"leg": "point", "port": "point", "PON port": "point", "dwelling": "place"}
"""Sources that offer fewer things, but describe them as another one does."""

_TABLES: dict[str, Any] = {
    "entry": CatalogueEntry,
    "optical_class": OpticalClass,
    "colour_scheme": ColourScheme,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One argument of a step: what it is for, its value in words, and where that has a page."""

    label: str
    value: str
    where: str = ""
    url: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownStep:
    """A step of a job as a page shows it. `words` tell what it did, or by its preview would do."""

    number: int
    verb: str
    title: str
    parts: tuple[Part, ...]
    note: str
    words: str
    change: int | None
    has_form: bool
    is_next: bool


def shown_steps(job: Job) -> list[ShownStep]:
    """Return the steps of a job; the number of queries doesn't grow with them."""
    names = _Names.of(job.steps)
    words = {each["step"]: each["words"] for each in _previewed(job)}
    words |= words_of_steps(job) if job.done_count else {}
    return [
        ShownStep(
            number=number,
            verb=step["verb"],
            title=title_of(step["verb"]),
            parts=tuple(names.parts(step)),
            note=step["note"],
            words=words.get(number, ""),
            change=step.get("change"),
            has_form=step["verb"] in FORMS,
            is_next=number == job.done_count + 1,
        )
        for number, step in enumerate(job.steps, start=1)
    ]


def _previewed(job: Job) -> list[dict[str, Any]]:
    """Return the steps of a preview of the job as it is saved.

    What a step would do stays worth reading while those before it are ticked off, when the
    preview as a whole is not current any more.
    """
    is_current = job.preview.get("revision") == job.revision
    steps: list[dict[str, Any]] = job.preview["steps"] if is_current else []
    return steps


def title_of(verb: str) -> str:
    """Return what a verb's form is called, or for one without a form its own words."""
    if verb in FORMS:
        return str(FORMS[verb].title)
    noun, _, word = verb.partition(".")
    return f"{word.replace('_', ' ')} {noun}".capitalize()


def groups() -> dict[str, list[Any]]:
    """Return the forms of the verbs that a step can have, as the page of all forms lists them."""
    can_be = set(plannable())
    listed = {
        heading: [form for form in group if form.verb in can_be]
        for heading, group in GROUPS.items()
    }
    return {heading: group for heading, group in listed.items() if group}


@dataclass(frozen=True, slots=True)
class _Names:
    """What the things are called that steps name: by source and id."""

    known: dict[tuple[str, int], Part]
    rows: dict[tuple[str, int], str]

    @classmethod
    def of(cls, steps: Sequence[Mapping[str, Any]]) -> "_Names":
        """Read all names with a few queries a source."""
        wanted: dict[str, set[int]] = {}
        rows: dict[str, set[int]] = {}
        for step in steps:
            for name, value in step["arguments"].items():
                source = _source(step, name)
                for each in value if isinstance(value, list) else [value]:
                    if type(each) is int and source:
                        wanted.setdefault(source, set()).add(each)
                    elif type(each) is int and name in _TABLES:
                        rows.setdefault(name, set()).add(each)
        known = {
            (source, int(each.id)): _thing(source, each)
            for source, ids in wanted.items()
            for each in options(source, sorted(ids))
        }
        return cls(known, dict(_read(rows)))

    def parts(self, step: Mapping[str, Any]) -> Iterator[Part]:
        """Yield the arguments of a step, those left empty aside."""
        fields = FORMS[step["verb"]].base_fields if step["verb"] in FORMS else {}
        for name, value in step["arguments"].items():
            field = fields.get(name)
            label = str(field.label) if field and field.label else name.replace("_", " ")
            told = self._told(step, name, value, field)
            if told is not None:
                yield Part(
                    label=label.capitalize() if label.islower() else label,
                    value=told.value,
                    where=told.where,
                    url=told.url,
                )

    def _told(self, step: Mapping[str, Any], name: str, value: Any, field: Any) -> Part | None:
        if isinstance(value, list):
            several = [self._told(step, name, each, field) for each in value]
            return Part(label="", value=", ".join(each.value for each in several if each))
        if isinstance(value, Mapping):
            return Part(label="", value=references.in_words(value))
        source = _source(step, name)
        if source and type(value) is int:
            gone = Part(label="", value=f"{source} {value}, which is not in the record any more")
            return self.known.get((source, value), gone)
        if name in _TABLES and type(value) is int:
            return Part(label="", value=self.rows.get((name, value), f"number {value}"))
        words = _plain(name, value, field)
        return Part(label="", value=words) if words else None


def _source(step: Mapping[str, Any], name: str) -> str:
    field = FORMS[step["verb"]].base_fields.get(name) if step["verb"] in FORMS else None
    if isinstance(field, ThingField) and name != "thing":
        return _SAME.get(field.source, field.source)
    noun = noun_needed(name, step["arguments"]) or ""
    return noun if noun in SOURCES else ""


def _thing(source: str, option: Any) -> Part:
    url = url_of(source, option.id) if source in PAGED else ""
    return Part(label="", value=option.title, where=option.where, url=url)


def _read(wanted: Mapping[str, Iterable[int]]) -> Iterator[tuple[tuple[str, int], str]]:
    for name, ids in wanted.items():
        for pk, row in _TABLES[name].objects.in_bulk(list(ids)).items():
            yield (name, pk), str(row)


def _plain(name: str, value: Any, field: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(field, PolishField) or name.endswith("polish"):
        return str(value) if value else ("bare end" if value == "" else "")
    if name == "level_dbm" and value is None:
        return "no light"
    if isinstance(field, forms.ChoiceField) and value:
        words: dict[Any, Any] = dict(field.choices)  # type: ignore[arg-type]  # the forms have pairs
        return str(words.get(value, value))
    if isinstance(value, float):
        return f"{value:g}"
    return "" if value is None else str(value)

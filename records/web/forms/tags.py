"""Forms for tags: bind a blank one to a thing, void one."""

from typing import Any

from django import forms
from django.http import QueryDict

from records.models import TAGGED, Tag
from records.models.tag_code import TagCodeError, parse
from records.queries.things import tagged
from records.web.forms.fields import ThingField, WordField
from records.web.forms.verb_form import Thing, VerbForm
from records.web.links import PAGED


class Bind(VerbForm):
    """A blank tag hung on a thing."""

    verb = "tags.bind"
    title = "Bind a tag"
    button = "Bind"
    about = "Say what a blank tag now hangs on. The code then leads to that thing's page."
    asks_first = "noun"

    noun = forms.ChoiceField(
        label="What it hangs on",
        choices=[
            ("point", "a port, leg or fibre end"),
            ("equipment", "an equipment"),
            ("place", "a place"),
            ("line", "a line"),
            ("cable", "an end of a cable"),
        ],
        widget=forms.HiddenInput,
    )
    code = WordField(label="Tag code", help_text="As on the sticker: 7K3M-9QX8.")
    thing = ThingField("point", label="Thing")
    cable_end = forms.ChoiceField(
        label="Which end", choices=[("A", "A end"), ("B", "B end")], widget=forms.RadioSelect
    )

    def __init__(self, data: QueryDict) -> None:
        """Look for things of the noun, and ask for the end of a cable only."""
        super().__init__(data)
        noun = data.get("noun", "")
        if noun in TAGGED:
            label = dict(self.base_fields["noun"].choices)[noun]  # type: ignore[attr-defined]
            self.fields["thing"] = ThingField(noun, label=label.partition(" ")[2].capitalize())
        if noun != "cable":
            del self.fields["cable_end"]

    def after(self, result: Any) -> Thing | None:
        return self.cleaned_data["noun"], self.cleaned_data["thing"]


class Void(VerbForm):
    """A tag withdrawn for ever."""

    verb = "tags.void"
    title = "Void a tag"
    button = "Void"
    about = "Withdraw a lost or spoilt tag for ever. Its code is never used again."
    is_destructive = True

    code = WordField(label="Tag code")
    why = WordField(label="What became of it", max_length=200)

    def before(self) -> Thing | None:
        try:
            tag = Tag.objects.filter(code=parse(self.cleaned_data["code"])).first()
        except TagCodeError:
            return None
        found = tagged(tag) if tag else None
        return (found[0], found[1].pk) if found and found[0] in PAGED else None

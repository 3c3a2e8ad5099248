"""The form of an as-built pack: of which moment, in which form, since which change."""

from django import forms
from django.utils import timezone

from records.handover.pack.told import Asked
from records.queries.moment import NoSuchMomentError, moment_asked

_MOMENT = "A day such as 2026-03-02, a time, or the number of a change."


class PackForm(forms.Form):
    """What a pack is to be; empty fields mean now, without addresses, without deviations."""

    at = forms.CharField(
        label="As it stood at", required=False, max_length=40, help_text=f"Empty: now. {_MOMENT}"
    )
    since = forms.CharField(
        label="List the changes since",
        required=False,
        max_length=40,
        help_text=f"Empty: none, else those after the last handover. {_MOMENT}",
    )
    has_addresses = forms.BooleanField(
        label="With addresses",
        required=False,
        help_text=(
            "For the owner's own copy, with remarks and who asked for it. Without them homes go "
            "by their lines, buildings by number. Who takes them is noted in the log."
        ),
    )

    def clean_at(self) -> int | None:
        """Return the number of the change asked for; None for now."""
        return _number(self.cleaned_data["at"])

    def clean_since(self) -> int | None:
        """Return the number of the change asked for; None where no list is wanted."""
        return _number(self.cleaned_data["since"])

    def asked(self, username: str) -> Asked:
        """Return what is asked for, by whom."""
        return Asked(
            has_addresses=self.cleaned_data["has_addresses"],
            asked_by=username,
            since=self.cleaned_data["since"],
        )


def _number(text: str) -> int | None:
    if not text.strip():
        return None
    try:
        return moment_asked(text.strip(), now=timezone.now())
    except NoSuchMomentError as error:
        raise forms.ValidationError(str(error)) from error

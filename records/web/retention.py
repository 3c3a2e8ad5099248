"""What leads to a person and has had its time, for an owner to cut out."""

from datetime import UTC, date, datetime, time, timedelta

from django import forms
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from records.changes.retention import is_owner
from records.queries.moment import number_at
from records.queries.retention import lines_past_use, people_idle_since, sightings_before
from records.web.signed_in import signed_in

KEPT_DAYS = 730
"""How long things are kept unless the owner says otherwise: two years, our own choice."""


class BeforeForm(forms.Form):
    """The day before which things have had their time."""

    before = forms.DateField(
        label="Not needed since",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )

    def clean_before(self) -> date:
        """Refuse a day that is yet to come: nothing can have been unused since then."""
        day: date = self.cleaned_data["before"]
        if day > timezone.now().date():
            raise forms.ValidationError("That day is yet to come. Choose one that is past.")
        return day


def retention_page(request: HttpRequest) -> HttpResponse:
    """Show what has had its time before a day, each with the form that cuts it out."""
    if not is_owner(signed_in(request)):
        raise PermissionDenied
    usual = (timezone.now() - timedelta(days=KEPT_DAYS)).date()
    form = BeforeForm(request.GET if "before" in request.GET else {"before": f"{usual}"})
    context: dict[str, object] = {"form": form, "is_asked": form.is_valid()}
    if form.is_valid():
        day = form.cleaned_data["before"]
        moment = datetime.combine(day, time.min, tzinfo=UTC)
        context |= {
            "day": f"{day}",
            "lines": lines_past_use(number_at(moment)),
            "scan_count": sightings_before(moment),
            "people": people_idle_since(moment),
        }
    return render(request, "records/retention.html", context)

"""The forms of jobs: what is told of one beside its steps, and which ones to list."""

from typing import Any

from django import forms
from django.contrib.auth import get_user_model
from django.http import QueryDict

from records.intake import job_file
from records.models import Job
from records.queries import jobs
from records.web.forms.fields import (
    Choices,
    RowField,
    ThingField,
    WordField,
    pasted_sheet_field,
    sheet_file_field,
)
from records.web.forms.verb_form import VerbForm


def people() -> Choices:
    """Return who can be given a job."""
    found = get_user_model().objects.filter(is_active=True).order_by("username")
    return [(str(pk), name) for pk, name in found.values_list("pk", "username")]


def date_field(**options: Any) -> forms.DateField:
    """Return a field for a day, with the calendar of the browser."""
    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    return forms.DateField(
        required=False,
        widget=widget,
        error_messages={"invalid": "This is no date. Write it like 2026-03-09."},
        **options,
    )


class JobForm(VerbForm):
    """What is told of a job beside its steps."""

    verb = "jobs.draft"
    title = "Plan a job"
    button = "Draft the job"
    about = (
        "A job is a list of steps, looked at before anyone opens a cupboard. Nothing is recorded "
        "of the network before the job is approved and done."
    )

    name = WordField(label="What is to be done", max_length=120)
    place = ThingField("place", label="Where")
    reference = WordField(
        label="Reference",
        required=False,
        max_length=60,
        help_text="Such as the number of an order. No two jobs have the same.",
    )
    assignee = RowField(people, label="Who does it", empty="not given to anyone", required=False)
    due_date = date_field(label="By when")

    def __init__(self, data: QueryDict) -> None:
        """Bind what was sent. Why a job is drafted is its name."""
        super().__init__(data)
        del self.fields["reason"]

    @classmethod
    def of_job(cls, job: Job) -> QueryDict:
        """Return what the form starts with when a job is edited."""
        data = QueryDict(mutable=True)
        data["name"], data["reference"] = job.name, job.reference
        data["place"] = str(job.place_id)
        data["assignee"] = str(job.assignee_id or "")
        data["due_date"] = job.due_date.isoformat() if job.due_date else ""
        return data


class EditedJobForm(JobForm):
    """What is told of a job that is there already."""

    verb = "jobs.edit"
    title = "Edit name, place and date"
    button = "Save"
    about = ""


class JobSheetForm(JobForm):
    """A job whose steps stand in a spreadsheet."""

    title = "Plan a job from a spreadsheet"
    about = (
        f"One row a step, at most {job_file.WAITED_FOR_MAX}: what is done, and to which things, "
        "by their plain names. All rows are checked first: the job is drafted with all of them, "
        "or not at all."
    )

    file = sheet_file_field()
    text = pasted_sheet_field()

    def __init__(self, data: QueryDict, files: Any) -> None:
        """Bind what was sent, files too."""
        super().__init__(data)
        self.files = files

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        if not given.get("file") and not given.get("text"):
            missing = forms.ValidationError("Choose a file, or paste the rows.", code="required")
            self.add_error("file", missing)
        return given

    def sheet(self) -> bytes:
        """Return the sheet: a file before pasted rows."""
        file = self.cleaned_data.get("file")
        # One byte more than is read, so that what is too long is told from what just fits.
        text: str = self.cleaned_data["text"]
        return bytes(file.read(job_file.MAX_BYTES + 1)) if file else text.encode()

    def told(self) -> dict[str, Any]:
        """Return what is told of the job beside its steps."""
        given = self.arguments()
        return {name: each for name, each in given.items() if name not in {"file", "text"}}


class JobsFilter(forms.Form):
    """Which jobs to list."""

    state = forms.ChoiceField(choices=jobs.states, required=False)
    place = WordField(
        label="In or at", required=False, help_text="A place by its name, or part of its address."
    )
    assignee = forms.TypedChoiceField(
        label="Who does it", required=False, coerce=int, empty_value=None
    )
    due_from = date_field(label="Due from")
    due_until = date_field(label="Due until")

    def __init__(self, data: QueryDict) -> None:
        """Ask for open jobs where nothing is said."""
        asked = data.copy()
        asked.setdefault("state", jobs.OPEN)
        super().__init__(asked)
        self.label_suffix = ""
        assignee = self.fields["assignee"]
        if isinstance(assignee, forms.ChoiceField):
            assignee.choices = [("", "anyone"), *people()]

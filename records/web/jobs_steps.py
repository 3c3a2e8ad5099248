"""The pages of a job's steps: choose a verb, fill in its form, be told if the job was saved."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from records.changes import Busy, Refusal
from records.changes.refusals import JobSaved
from records.changes.steps import Step, checked, plannable
from records.changes.supposing import Supposed, supposed
from records.models import Job
from records.web import once, unsent
from records.web.forms import FORMS
from records.web.forms.fields import ThingField
from records.web.forms.jobs_steps import StepForm, filled_from, step_form
from records.web.jobs_saving import (
    job_or_404,
    planned,
    revision_sent,
    saved,
    with_steps,
)
from records.web.jobs_shown import ShownStep, groups, shown_steps
from records.web.jobs_versions import Spot, Versions, digests_of
from records.web.signed_in import signed_in
from records.web.statuses import OK, UNPROCESSABLE
from records.web.whole import whole


def choose_page(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show which steps can be added."""
    job = job_or_404(job_id)
    if not job.is_open:
        return _closed(request, job, f"Job {job} is {job.get_state_display()}.")
    at = _number_asked(request, job)
    context = {"job": job, "groups": groups(), "at": at, "is_last": at == len(job.steps) + 1}
    return render(request, "records/jobs/choose.html", context)


def _closed(request: HttpRequest, job: Job, words: str) -> HttpResponse:
    """Lead back to the job, where what was asked for can't be done with it."""
    messages.error(request, f"{words} Its steps can't be altered any more.")
    return redirect("job", job.pk)


def _number_asked(request: HttpRequest, job: Job) -> int:
    behind = len(job.steps) + 1
    wanted = whole(request.GET.get("at", ""))
    return max(job.done_count + 1, min(behind if wanted is None else wanted, behind))


def add_page(request: HttpRequest, job_id: int, verb: str) -> HttpResponse:
    """Show the form of a new step, or add the step to the job."""
    job = job_or_404(job_id)
    _refuse_no_step(verb)
    spot = Spot(number=_number_asked(request, job), is_new=True)
    return _Page(request, job, verb, spot, None, unsent.sent(request)).answer()


def edit_page(request: HttpRequest, job_id: int, number: int) -> HttpResponse:
    """Show the form of a step, or save the step."""
    job = job_or_404(job_id)
    is_there = 1 <= number <= len(job.steps)
    # What was sent is kept though the step be gone meanwhile: the form tells its own verb.
    sent = unsent.sent(request)
    verb = (sent.get("verb") if sent else "") or (
        job.steps[number - 1]["verb"] if is_there else ""
    )
    _refuse_no_step(verb)
    kept = _kept(job, number) if is_there and job.steps[number - 1]["verb"] == verb else None
    return _Page(request, job, verb, Spot(number=number, is_new=False), kept, sent).answer()


def _refuse_no_step(verb: str) -> None:
    """Refuse a verb that a step can't have, or that has no form. Raises: Http404."""
    if verb not in FORMS or verb not in plannable():
        raise Http404("There is no form for such a step.")


def _kept(job: Job, number: int) -> Step:
    step = job.steps[number - 1]
    return Step(verb=step["verb"], arguments=step["arguments"], note=step["note"])


def _is_overtaken(form: StepForm) -> bool:
    return isinstance(form.refusal, JobSaved)


@dataclass
class _Page:
    """One asking for the form of a step."""

    request: HttpRequest
    job: Job
    verb: str
    asked: Spot
    kept: Step | None
    sent: QueryDict | None
    spot: Spot = field(init=False)
    typed: QueryDict | None = None
    """What was typed, fitted to a version saved meanwhile."""

    def answer(self) -> HttpResponse:
        """Show the form, or save what was sent."""
        self.spot = Spot.read(self._said("spot")) or self.asked
        if self.request.method != "POST" and not self.job.is_open:
            words = f"Job {self.job} is {self.job.get_state_display()}."
            return _closed(self.request, self.job, words)
        if self.request.method != "POST" and self.spot.number <= self.job.done_count:
            words = f"Step {self.spot.number} is recorded already."
            return _closed(self.request, self.job, words)
        try:
            return self._answer()
        except Busy as busy:
            messages.error(self.request, f"{busy} Your browser's way back keeps what you typed.")
            return redirect("job", self.job.pk)

    def _said(self, name: str) -> str:
        return "" if self.sent is None else self.sent.get(name, "")

    def _answer(self) -> HttpResponse:
        is_saving = self.request.method == "POST" and "check" not in self.request.POST
        token = once.new_token()
        with self._supposed() as record:
            form = self._form(record)
            if form.first_answers and form.data.get(form.asks_first) not in dict(
                form.first_answers
            ):
                return self._ask_first(form)
            if not is_saving:
                return self._show(form, record, token)
            if not form.is_valid():
                return self._show(form, record, token, status=UNPROCESSABLE)
            step = form.step(self.kept)
        return self._save(step)

    @contextmanager
    def _supposed(self) -> Iterator[Supposed]:
        """Suppose that the steps before the spot are done."""
        earlier = self.job.steps[: self.spot.number - 1]
        done = min(self.job.done_count, len(earlier))
        with supposed(
            checked(planned(earlier[done:])),
            done=[each["made"] for each in earlier[:done]],
            actor=signed_in(self.request),
            at=timezone.now(),
        ) as record:
            yield record

    def _form(self, record: Supposed) -> StepForm:
        form = step_form(self.verb)(self._data(), record)
        form.address = self.request.get_full_path()
        return form

    def _data(self) -> QueryDict:
        if self.typed is not None:
            return self.typed
        if self.sent is not None:
            return self.sent
        if self.kept is not None:
            return filled_from(self.kept)
        return FORMS[self.verb].filled(self.request.GET)

    def _ask_first(self, form: StepForm) -> HttpResponse:
        answers = []
        for value, words in form.first_answers:
            query = self.request.GET.copy()
            query[form.asks_first] = value
            answers.append((f"?{query.urlencode()}", words))
        context = {"form": form, "asked": form[form.asks_first], "answers": answers}
        return render(self.request, "records/verbs/first.html", context)

    def _save(self, step: Step) -> HttpResponse:
        revision = revision_sent(self.request.POST)
        is_current = revision == self.job.revision
        try:
            steps = self.spot.put(step, self.job.steps) if is_current else self.job.steps
            saved(self.request, with_steps(self.job, steps, revision), job=self.job.pk)
        except Refusal as refusal:
            return self._refused(refusal)
        what = "added" if self.spot.is_new else "saved"
        messages.success(self.request, f"Step {self.spot.number} is {what}.")
        return redirect(f"{reverse('job', args=[self.job.pk])}#step-{self.spot.number}")

    def _refused(self, refusal: Refusal) -> HttpResponse:
        """Show the form again with why it was not saved, within the job as it is saved now."""
        self.job = job_or_404(self.job.pk)
        steps = []
        if isinstance(refusal, JobSaved):
            versions = self._versions()
            steps = shown_steps(self.job)
            self.spot = versions.spot_now(self.spot)
            self.typed = versions.typed_now(self.request.POST, self._names_of_things())
        token = once.new_token()
        with self._supposed() as record:
            form = self._form(record)
            form.is_valid()
            form.blame(refusal)
            return self._show(form, record, token, status=refusal.status, theirs=steps)

    def _show(
        self,
        form: StepForm,
        record: Supposed,
        token: str,
        *,
        status: int = 200,
        theirs: Sequence[ShownStep] = (),
    ) -> HttpResponse:
        was_sent = status != OK
        # What can be chosen is what there is before the step, so it is looked up before the try.
        rows = list(form.rows())
        effect = None if was_sent else form.tried(self.kept)
        context = {
            "form": form,
            "effect": effect,
            "rows": [replace(row, refusal=form.refusal_of(row.field.name)) for row in rows],
            "job": self.job,
            "spot": self.spot,
            "spots": self._spots(theirs),
            "clash": record.clash,
            "was_sent": was_sent,
            "token": token,
            **self._shown_versions(theirs, is_overtaken=_is_overtaken(form)),
        }
        return render(self.request, "records/jobs/step.html", context, status=status)

    def _names_of_things(self) -> list[str]:
        fields = FORMS[self.verb].base_fields
        return [name for name, each in fields.items() if isinstance(each, ThingField)]

    def _versions(self) -> Versions:
        return Versions(seen=self._said("seen").split(), now=digests_of(self.job.steps))

    def _shown_versions(
        self, theirs: Sequence[ShownStep], *, is_overtaken: bool
    ) -> dict[str, Any]:
        """Return which version the form starts from, and what is new in the one saved since."""
        versions = self._versions()
        sent = None if is_overtaken else self.sent
        marked = zip(theirs, versions.now, strict=False)
        return {
            "is_overtaken": is_overtaken,
            "theirs": [(each, digest not in versions.seen) for each, digest in marked],
            "gone_count": versions.gone_count,
            "seen": " ".join(versions.now if sent is None else versions.seen),
            "revision": self.job.revision if sent is None else revision_sent(sent),
        }

    def _spots(self, steps: Sequence[ShownStep]) -> list[tuple[str, str]]:
        """Return where a step can go in a job that was saved meanwhile."""
        left = [each for each in steps if not each.change]
        spots = [
            (str(Spot(number=each.number, is_new=True)), f"before step {each.number}")
            for each in left
        ]
        spots.append((str(Spot(number=len(steps) + 1, is_new=True)), "after the last step"))
        if not self.spot.is_new:
            spots = [
                (
                    str(Spot(number=each.number, is_new=False)),
                    f"in the place of step {each.number}",
                )
                for each in left
            ] + spots
        return spots

"""The pages of jobs: the list, a job with its steps, and what is told of it beside them."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from records.changes import OpenChange, Refusal, jobs
from records.changes.refusals import JobSaved
from records.models import Job, Place
from records.queries import jobs as asked
from records.queries.find import find
from records.queries.names import addresses
from records.web import crumbs, jobs_deeds, once, unsent
from records.web.forms.jobs import EditedJobForm, JobForm, JobsFilter
from records.web.jobs_saving import (
    job_or_404,
    planned,
    revision_sent,
    saved,
)
from records.web.jobs_shown import shown_steps
from records.web.signed_in import signed_in
from records.web.statuses import OK, UNPROCESSABLE

PAGE_SIZE = 50


def jobs_page(request: HttpRequest) -> HttpResponse:
    """List jobs, the open ones if nothing else is asked for."""
    form = JobsFilter(request.GET)
    places: list[Place] = []
    found: QuerySet[Job] = Job.objects.none()
    if form.is_valid():
        chosen = form.cleaned_data
        places = _places(chosen["place"])
        if places or not chosen["place"]:
            found = asked.listed(
                state=chosen["state"],
                inside=places[0] if places else None,
                assignee_id=chosen["assignee"],
                due_from=chosen["due_from"],
                due_until=chosen["due_until"],
            )
    page = Paginator(found, PAGE_SIZE).get_page(request.GET.get("page"))
    query = request.GET.copy()
    query.pop("page", None)
    known = addresses({*places[:1], *(job.place for job in page)})
    context = {
        "form": form,
        "page": page,
        "jobs": [(job, known[job.place_id]) for job in page],
        "inside": known[places[0].pk] if places else "",
        "query": query.urlencode(),
        "today": timezone.now().date(),
    }
    return render(request, "records/jobs/jobs.html", context)


def _places(text: str) -> list[Place]:
    """Return the places that a text may mean, best first."""
    ids = [each.id for each in find(text) if each.noun == "place"] if text else []
    found = Place.objects.in_bulk(ids)
    return [found[pk] for pk in ids if pk in found]


def draft_page(request: HttpRequest) -> HttpResponse:
    """Ask for what is told of a new job, and draft it without steps."""
    is_sent = request.method == "POST"
    sent = unsent.sent(request)
    form = JobForm(JobForm.filled(request.GET) if sent is None else sent)
    form.address = request.path
    if not is_sent or "check" in request.POST:
        form.is_valid()
        form.forgive_missing()
        return _show_form(request, form)
    if not form.is_valid():
        return _show_form(request, form, status=UNPROCESSABLE)
    try:
        pk = saved(request, lambda change: jobs.draft(change, **form.arguments()))
    except Refusal as refusal:
        form.refusal = refusal
        return _show_form(request, form, status=refusal.status)
    messages.success(request, "The job is drafted. Add its steps in the order of the work.")
    return redirect("job", pk)


def details_page(request: HttpRequest, job_id: int) -> HttpResponse:
    """Edit what is told of a job beside its steps."""
    job = job_or_404(job_id)
    is_sent = request.method == "POST"
    sent = unsent.sent(request)
    form = EditedJobForm(EditedJobForm.of_job(job) if sent is None else sent)
    revision = job.revision if sent is None else revision_sent(sent)
    form.address = request.path
    if not is_sent or "check" in request.POST:
        form.is_valid()
        form.forgive_missing()
        return _show_form(request, form, job=job, revision=revision)
    if not form.is_valid():
        return _show_form(request, form, job=job, revision=revision, status=UNPROCESSABLE)
    given = {"assignee": None, "due_date": None, **form.arguments()}

    def edit(change: OpenChange) -> Job:
        steps = planned(job.steps)
        return jobs.edit(change, job.pk, revision=revision, steps=steps, **given)

    try:
        saved(request, edit, job=job.pk)
    except Refusal as refusal:
        form.refusal = refusal
        job = job_or_404(job_id)
        return _show_form(request, form, job=job, revision=revision, status=refusal.status)
    messages.success(request, "Saved.")
    return redirect("job", job.pk)


def _show_form(
    request: HttpRequest,
    form: JobForm,
    *,
    job: Job | None = None,
    revision: int = 0,
    status: int = 200,
) -> HttpResponse:
    """Show the form, which starts from a revision until told of another."""
    is_overtaken = isinstance(form.refusal, JobSaved)
    context = {
        "form": form,
        "rows": list(form.rows()),
        "job": job,
        "is_overtaken": is_overtaken,
        "theirs": _differing(form, job) if job and is_overtaken else [],
        "revision": job.revision if job and is_overtaken else revision,
        "was_sent": status != OK,
        "token": once.new_token(),
    }
    return render(request, "records/jobs/details.html", context, status=status)


def _differing(form: JobForm, job: Job) -> list[tuple[str, str]]:
    """Return what the saved job says where the form says something else."""
    now = JobForm.of_job(job)
    said = {
        "name": job.name,
        "place": str(job.place),
        "reference": job.reference,
        "assignee": str(job.assignee or ""),
        "due_date": str(job.due_date or ""),
    }
    return [
        (str(form[name].label), words or "nothing")
        for name, words in said.items()
        if form.data.get(name, "") != now[name]
    ]


def job_page(request: HttpRequest, job_id: int) -> HttpResponse:
    """Show a job with its steps, or do with it what a button says."""
    job = job_or_404(job_id)
    if request.method == "POST":
        return jobs_deeds.do(request, job)
    steps = shown_steps(job)
    context = {
        "job": job,
        "crumbs": crumbs.around(job.place),
        "steps": steps,
        "clash": job.preview["clash"] if job.has_current_preview else None,
        "left_count": len(steps) - job.done_count,
        "own_plan": jobs.own_plan(job, signed_in(request)),
        "undone_by": _only_change(job),
        "token": once.new_token(),
    }
    return render(request, "records/jobs/job.html", context)


def _only_change(job: Job) -> int | None:
    """Return the change that recorded a job, None where it took several."""
    numbers = {step.get("change") for step in job.steps}
    return numbers.pop() if len(numbers) == 1 else None

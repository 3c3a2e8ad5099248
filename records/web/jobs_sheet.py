"""The page that drafts a job from a spreadsheet: every fault by row and column, all or nothing."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from records.changes import Refusal, jobs
from records.intake import Fault, UnreadableError, job_file
from records.queries.words import counted
from records.web import once
from records.web.forms.jobs import JobSheetForm
from records.web.jobs_saving import saved
from records.web.signed_in import signed_in
from records.web.statuses import OK, UNPROCESSABLE

FAULTS_SHOWN = 200
REMARKS_SHOWN = 10


def sheet_page(request: HttpRequest) -> HttpResponse:
    """Ask for a sheet of steps, check it, draft the job."""
    is_sent = request.method == "POST"
    data = request.POST if is_sent else JobSheetForm.filled(request.GET)
    form = JobSheetForm(data, request.FILES)
    form.address = request.path
    if not form.is_valid():
        is_asking = not is_sent or "check" in request.POST
        if is_asking:
            form.forgive_missing()
        return _show(request, form, status=200 if is_asking else UNPROCESSABLE)
    if "check" in request.POST:
        return _show(request, form)
    return _draft(request, form)


def _draft(request: HttpRequest, form: JobSheetForm) -> HttpResponse:
    actor, now = signed_in(request), timezone.now()
    try:
        sheet = job_file.read(form.sheet(), rows_max=job_file.WAITED_FOR_MAX)
        drafted = job_file.drafted(sheet, place=form.told()["place"], actor=actor, at=now)
        if drafted.faults:
            return _show(request, form, faults=drafted.faults, status=UNPROCESSABLE)
        pk = saved(request, lambda change: jobs.draft(change, **form.told(), steps=drafted.steps))
    except UnreadableError as unreadable:
        form.add_error("file", str(unreadable))
        return _show(request, form, status=UNPROCESSABLE)
    except Refusal as refusal:
        form.refusal = refusal
        return _show(request, form, status=refusal.status)
    steps = counted(len(drafted.steps), "step")
    messages.success(request, f"The job is drafted with {steps}.")
    for remark in drafted.remarks[:REMARKS_SHOWN]:
        messages.warning(request, str(remark))
    return redirect("job", pk)


def _show(
    request: HttpRequest,
    form: JobSheetForm,
    *,
    faults: tuple[Fault, ...] = (),
    status: int = 200,
) -> HttpResponse:
    context = {
        "form": form,
        "rows": list(form.rows()),
        "faults": faults[:FAULTS_SHOWN],
        "faults_count": len(faults),
        "faults_hidden": max(0, len(faults) - FAULTS_SHOWN),
        "takes": job_file.takes(),
        "was_sent": status != OK,
        "token": once.new_token(),
    }
    return render(request, "records/jobs/sheet.html", context, status=status)

"""Print runs: what was printed, its file anew, a label spoiled, blank tags voided."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from labels.design import KINDS
from labels.orders import digest, order_of, reprinted
from labels.patching import plated_of
from records import changes
from records.changes import Refusal
from records.changes import prints as verbs
from records.models import PrintedLabel, PrintFile, PrintRun
from records.queries import prints
from records.web.forms.printing import described
from records.web.signed_in import signed_in

LABELS_SHOWN = 100
RUNS_SHOWN = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownLabel:
    """A printed label with its kind in words and the texts it showed."""

    label: PrintedLabel
    title: str
    texts: tuple[str, ...]


def shown_label(label: PrintedLabel) -> ShownLabel:
    """Return a printed label as pages show it."""
    kind = KINDS[label.kind]
    said = label.fields
    texts = tuple(said[name] for name in kind.fields if said.get(name))
    return ShownLabel(label=label, title=kind.title, texts=texts)


def runs_page(request: HttpRequest) -> HttpResponse:
    """Show all print runs, the latest first."""
    page = Paginator(prints.runs(), RUNS_SHOWN).get_page(request.GET.get("page"))
    return render(request, "records/printing/runs.html", {"page": page, "runs": page.object_list})


def run_page(request: HttpRequest, run_id: int) -> HttpResponse:
    """Show one run: who printed what text when, and what can be done with it."""
    return _show(request, _run(run_id))


def run_file(request: HttpRequest, run_id: int) -> HttpResponse:
    """Answer the file of a run, made anew from what is recorded of it.

    Where the program draws otherwise than it did then, that is said first.
    """
    run = _run(run_id)
    content = reprinted(run).content
    if digest(content) != run.digest and "anyway" not in request.GET:
        return render(request, "records/printing/other_bytes.html", {"run": run}, status=409)
    is_pdf = run.file == PrintFile.PDF
    kind, ending = ("application/pdf", "pdf") if is_pdf else ("application/zip", "zip")
    place = "inline" if is_pdf else "attachment"
    return HttpResponse(
        content,
        kind,
        headers={"Content-Disposition": f'{place}; filename="labels-{run.pk}.{ending}"'},
    )


def spoil(request: HttpRequest, label_id: int) -> HttpResponse:
    """Record that a label was spoiled. Whoever only looks is led to its run."""
    label = get_object_or_404(PrintedLabel.objects.select_related("run"), pk=label_id)
    if request.method != "POST":
        return redirect("print-run", label.run_id)
    try:
        with changes.opened(actor=signed_in(request), at=timezone.now()) as change:
            verbs.spoil(change, label.pk, why=request.POST.get("why", ""))
    except Refusal as refusal:
        return _show(request, _run(label.run_id), refusal=refusal)
    messages.success(
        request, f"Label {label.position} is spoiled. Print it again if it is wanted."
    )
    return redirect("print-run", label.run_id)


def void_blanks(request: HttpRequest, run_id: int) -> HttpResponse:
    """Void all tags of a run that are still blank. Whoever only looks is led to the run."""
    run = _run(run_id)
    if request.method != "POST":
        return redirect("print-run", run.pk)
    try:
        with changes.opened(actor=signed_in(request), at=timezone.now()) as change:
            verbs.void_blanks(change, run.pk, why=request.POST.get("why", ""))
    except Refusal as refusal:
        return _show(request, run, refusal=refusal)
    words = change.steps[0]["words"]
    messages.success(request, f"{words[:1].upper()}{words[1:]}.")
    return redirect("print-run", run.pk)


def _run(run_id: int) -> PrintRun:
    return get_object_or_404(PrintRun.objects.select_related("change__actor"), pk=run_id)


def _show(request: HttpRequest, run: PrintRun, *, refusal: Refusal | None = None) -> HttpResponse:
    labels = run.labels.select_related("tag").order_by("position")
    page = Paginator(labels, LABELS_SHOWN).get_page(request.GET.get("page"))
    order = order_of(run)
    context: dict[str, Any] = {
        "run": run,
        "page": page,
        "labels": [shown_label(each) for each in page.object_list],
        "stock": described(order.stock),
        "order": order,
        "blank_count": prints.blank_count(run),
        "cupboard_count": plated_of(run).count(),
        "refusal": refusal,
    }
    status = refusal.status if refusal else 200
    return render(request, "records/printing/run.html", context, status=status)

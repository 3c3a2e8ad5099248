"""What the owner settles for labels: rules, own stock, printers' offsets, the ruled test page."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.safestring import mark_safe

from labels import owner, shelf
from labels.own_sign import PictogramError
from labels.refusals import LabelRefusal
from labels.ruled_page import ruled_page
from labels.stock import Offset, Sheet, StockError
from records import changes
from records.changes import Refusal, label_rules
from records.models import CautionSign, LabelRules, OwnStock, PrinterOffset, StockShape
from records.web.forms.label_rules import RulesForm
from records.web.forms.printing import OffsetForm, StockForm, described
from records.web.signed_in import signed_in
from records.web.statuses import OK, UNPROCESSABLE


def rules_page(request: HttpRequest) -> HttpResponse:
    """Show the rules for all labels, or settle others."""
    if request.method != "POST":
        own = owner.sign()
        return _show_rules(request, RulesForm.filled(owner.rules(), own), own)
    form = RulesForm(request.POST, request.FILES)
    if not form.is_valid():
        return _show_rules(request, form, None, status=UNPROCESSABLE)
    is_check = "check" in request.POST
    try:
        own = form.sign()
    except PictogramError as refusal:
        status = 200 if is_check else UNPROCESSABLE
        return _show_rules(request, form, None, refusal=refusal, status=status)
    if is_check:
        return _show_rules(request, form, own)
    try:
        with changes.opened(actor=signed_in(request), at=timezone.now()) as change:
            owner.settle(change, form.wanted(), own)
    except (LabelRefusal, Refusal) as refusal:
        return _show_rules(request, form, own, refusal=refusal, status=_status_of(refusal))
    messages.success(request, "Settled. Labels printed from now on follow it.")
    return redirect("label-rules")


def _show_rules(
    request: HttpRequest,
    form: RulesForm,
    own: CautionSign | None,
    *,
    refusal: LabelRefusal | Refusal | None = None,
    status: int = 200,
) -> HttpResponse:
    """Show the form. A picture that was taken in goes with it, since its file doesn't."""
    context: dict[str, Any] = {
        "form": form,
        "refusal": refusal,
        "was_sent": status != OK,
        "is_of_picture": isinstance(refusal, PictogramError),
        "kept_picture": own.picture if own else form.data.get("picture", ""),
    }
    if refusal is None and own is not None and form.is_valid():
        try:
            owner.check(form.wanted(), own)
            context |= _link_of(form.wanted(), own)
        except LabelRefusal as refused:
            context |= {
                "refusal": refused,
                "is_of_picture": isinstance(refused, PictogramError),
            }
    return render(request, "records/printing/rules.html", context, status=status)


def _status_of(refusal: LabelRefusal | Refusal | None) -> int:
    """Return how a refusal is answered: only those of the record have a status of their own."""
    return refusal.status if isinstance(refusal, Refusal) else UNPROCESSABLE


def _link_of(wanted: LabelRules, own: CautionSign) -> dict[str, Any]:
    """Return what becomes of links by these rules. Raises: LinkError, LabelError."""
    return {
        "link": owner.sample_link(wanted),
        "size": owner.qr_size(wanted),
        "without_qr": owner.sheets_without_qr(wanted),
        "caution": mark_safe(owner.caution_picture(wanted, own)),  # noqa: S308 (drawn by labels/)
    }


def stock_page(request: HttpRequest) -> HttpResponse:
    """Show the stock and the printers' offsets; describe stock, store an offset."""
    posted = request.POST if request.method == "POST" else None
    shape = (posted or request.GET).get("shape", StockShape.SHEET)
    stock_form = StockForm(posted if posted and "describe" in posted else {"shape": shape})
    is_offset = posted is not None and "nudge" in posted
    offset_form = OffsetForm(posted) if is_offset else OffsetForm(initial=request.GET.dict())
    refusal: LabelRefusal | Refusal | None = None
    if posted is not None:
        form = offset_form if is_offset else stock_form
        try:
            if form.is_valid():
                return _keep(request, form)
        except (LabelRefusal, Refusal) as refused:
            refusal = refused
    context = {
        "stocks": [(each, described(each), isinstance(each, Sheet)) for each in _usual()],
        "own": OwnStock.objects.order_by("name"),
        "offsets": PrinterOffset.objects.order_by("printer", "stock"),
        "stock_form": stock_form,
        "offset_form": offset_form,
        "refusal": refusal,
        "shape": shape,
        "shapes": StockShape.choices,
        "is_described": posted is not None and not is_offset,
    }
    status = _status_of(refusal) if posted is not None else 200
    return render(request, "records/printing/stock.html", context, status=status)


def _usual() -> list[shelf.Stock]:
    return list(shelf.stocks().values())


def _keep(request: HttpRequest, form: StockForm | OffsetForm) -> HttpResponse:
    """Keep what was sent. Raises: LabelRefusal, Refusal."""
    data = form.cleaned_data
    with changes.opened(actor=signed_in(request), at=timezone.now()) as change:
        if isinstance(form, OffsetForm):
            label_rules.nudge(change, **form.arguments())
        else:
            shelf.describe(change, data["name"], data["shape"], form.measures())
    words = change.steps[0]["words"]
    messages.success(request, f"{words[:1].upper()}{words[1:]}.")
    return redirect("label-stock")


def forget_stock(request: HttpRequest, stock_id: int) -> HttpResponse:
    """Forget stock of the owner's. Whoever only looks is led to what there is."""
    if request.method != "POST":
        return redirect("label-stock")
    try:
        with changes.opened(actor=signed_in(request), at=timezone.now()) as change:
            label_rules.forget_stock(change, stock_id)
    except Refusal as refusal:
        raise Http404(f"There is no such stock. {refusal.hint}") from refusal
    messages.success(request, "Forgotten. Runs printed on it keep its measures.")
    return redirect("label-stock")


def ruled(request: HttpRequest, stock_id: str) -> HttpResponse:
    """Answer the ruled test page of a sheet, moved as asked."""
    try:
        found = shelf.stock(stock_id)
        if not isinstance(found, Sheet):
            raise StockError(f"{stock_id} is a roll.", "A test page is for sheets.")
        stored = shelf.offset_of(request.GET.get("printer", ""), stock_id)
        content = ruled_page(found, Offset(stored.x_mm, stored.y_mm))
    except LabelRefusal as refusal:
        raise Http404(f"There is no such test page. {refusal}") from refusal
    return HttpResponse(
        content,
        "application/pdf",
        headers={"Content-Disposition": f'inline; filename="test-of-{found.id}.pdf"'},
    )

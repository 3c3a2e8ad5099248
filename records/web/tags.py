"""A tag: what its code stands for, and where a scan of it leads."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from labels.standing import wrong_on
from records.models.tag_code import TagCodeError, grouped, spoken
from records.queries.tags import tag_of
from records.queries.things import described, tagged
from records.web.links import url_of
from records.web.scanning import note_seen


def scan(request: HttpRequest, code: str) -> HttpResponse:
    """Lead from the QR of a tag to the thing it hangs on, or say what to do with the tag.

    A label that no longer says what is so is told of on the way.
    """
    try:
        tag = tag_of(code)
    except TagCodeError:
        return tag_page(request, code)
    if tag is None:
        return tag_page(request, code)
    note_seen(request, tag)
    target = tagged(tag)
    if target is None:
        return tag_page(request, code)
    noun, thing = target
    for wrong in wrong_on(tag):
        messages.warning(
            request, f"The label you scanned has gone wrong. {wrong[:1].upper()}{wrong[1:]}."
        )
    return redirect(url_of(noun, thing.pk))


def tag_page(request: HttpRequest, code: str) -> HttpResponse:
    """Show what a code stands for: a thing, nothing yet, nothing any more, or nothing at all."""
    context: dict[str, Any]
    try:
        tag = tag_of(code)
    except TagCodeError as error:
        context = {"code": code, "fault": str(error)}
        return render(request, "records/tag.html", context, status=404)
    if tag is None:
        context = {"code": code, "fault": ""}
        return render(request, "records/tag.html", context, status=404)
    target = tagged(tag)
    context = {
        "code": grouped(tag.code),
        "tag": tag,
        "spoken": spoken(tag.code),
        "hangs_on": described(tag),
        "url": url_of(target[0], target[1].pk) if target else "",
    }
    return render(request, "records/tag.html", context)

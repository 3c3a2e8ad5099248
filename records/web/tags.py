"""A tag: what its code stands for, and where a scan of it leads."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from records.models.tag_code import TagCodeError, grouped, spoken
from records.queries.tags import tag_of
from records.queries.things import described, tagged
from records.web.links import url_of


def scan(request: HttpRequest, code: str) -> HttpResponse:
    """Lead from the QR of a tag to the thing it hangs on, or say what to do with the tag."""
    try:
        tag = tag_of(code)
    except TagCodeError:
        return tag_page(request, code)
    target = tagged(tag) if tag else None
    if target is None:
        return tag_page(request, code)
    noun, thing = target
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

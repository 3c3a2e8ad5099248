"""The scanner: codes read with the camera or typed, one for its page, two to join or book."""

from typing import Any

from csp.constants import SELF
from csp.decorators import csp_update
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from labels.owner import known_hosts
from labels.standing import wrong_on
from records.changes import sightings
from records.models import Tag
from records.queries.scans import NotScannedError, Scanned, scanned
from records.web import scan_offers
from records.web.signed_in import signed_in

TEXT_MAX = 500
"""A text longer than this is no code of ours."""


# The decoder is WebAssembly served from here; no other page may compile any.
@csp_update({"script-src": [SELF, "'wasm-unsafe-eval'"]})
def scanner_page(request: HttpRequest) -> HttpResponse:
    """Read a code, or take one that was typed; keep the first of two while the second is read.

    `text` was read now, `first` before it. The camera sends and replaces `#scanned` only.
    """
    data = request.POST if request.method == "POST" else request.GET
    text, first = (data.get(name, "").strip()[:TEXT_MAX] for name in ("text", "first"))
    context = _context(request, text, first)
    is_part = request.headers.get("HX-Request") == "true"
    template = "records/scanning/_scanned.html" if is_part else "records/scanning/scanner.html"
    return render(request, template, context)


def _context(request: HttpRequest, text: str, first: str) -> dict[str, Any]:
    hosts = known_hosts()
    one = _again(first, hosts)
    context: dict[str, Any] = {"one": one, "typed": text}
    if one is not None:
        context |= {"actions": list(scan_offers.after_one(one)), "first": one.key}
    if text:
        try:
            found = scanned(text, hosts)
        except NotScannedError as error:
            return context | {"fault": str(error)}
        if request.method == "POST":
            note_seen(request, found.tag)
        context |= _shown(one, found)
    return context


def _again(first: str, hosts: tuple[str, ...]) -> Scanned | None:
    try:
        return scanned(first, hosts) if first else None
    except NotScannedError:
        return None


def _shown(one: Scanned | None, found: Scanned) -> dict[str, Any]:
    """Return what the page says of the thing just scanned, alone or after another."""
    wrong = wrong_on(found.tag) if found.tag else ()
    if one is None or _same(one, found):
        offered = list(scan_offers.after_one(found))
        return {"one": found, "first": found.key, "actions": offered, "wrong": wrong}
    offered = scan_offers.after_two(one, found)
    return {
        "other": found,
        "first": "",
        "keep_first": one.key,
        "actions": offered or list(scan_offers.instead(one, found)),
        "nothing": "" if offered else scan_offers.nothing_to_do(one, found),
        "wrong": wrong,
    }


def _same(one: Scanned, other: Scanned) -> bool:
    """Tell whether two scans are of one label, read twice."""
    if one.tag is not None or other.tag is not None:
        return one.tag == other.tag
    return bool(one.thing == other.thing)


def note_seen(request: HttpRequest, tag: Tag | None) -> None:
    """Note that a label was seen, if it is one."""
    if tag is not None:
        sightings.see(tag, by=signed_in(request), at=timezone.now())

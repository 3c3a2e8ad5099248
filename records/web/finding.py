"""The one find box and what it finds."""

from dataclasses import dataclass
from itertools import groupby
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from records.models.tag_code import TagCodeError, parse
from records.queries.find import LIMIT, Found, find, wrong_code
from records.queries.lines import Promise, promises
from records.web.links import url_of
from records.web.past import as_asked

_HEADINGS = {
    "tag": "Tag",
    "point": "Ports and fibres",
    "place": "Places",
    "equipment": "Equipment",
    "line": "Lines",
    "cable": "Cables",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Things of one noun, best first."""

    heading: str
    results: tuple["Result", ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """A thing found, the address of its page, and of a dwelling the legs promised to it."""

    found: Found
    url: str
    promises: tuple[Promise, ...]


@as_asked
def find_page(request: HttpRequest) -> HttpResponse:
    """Show what a text may mean; go straight to the thing when it is the code of its tag."""
    text = _without_address(request.GET.get("q", ""))
    found = find(text) if text else []
    is_typing = request.headers.get("HX-Request") == "true"
    if not is_typing and _is_code(text) and found:
        return redirect(_then(_address(found[0], text), request))
    context = {
        "q": text,
        "groups": _grouped(found, text),
        "wrong_code": "" if found else wrong_code(text),
        "is_full": len(found) >= LIMIT,
        "count": len(found),
    }
    template = "records/_found.html" if is_typing else "records/find.html"
    return render(request, template, context)


def _then(address: str, request: HttpRequest) -> str:
    """Return the address of a thing as it stood, where the past was asked."""
    asked = request.GET.get("at", "")
    return f"{address}?{urlencode({'at': asked})}" if asked else address


def _without_address(text: str) -> str:
    """Return the code alone where a scanner typed the whole address on a tag."""
    _, scanned, code = text.strip().upper().rpartition("/T/")
    return code if scanned else text.strip()


def _is_code(text: str) -> bool:
    try:
        parse(text)
    except TagCodeError:
        return False
    return True


def _address(found: Found, text: str) -> str:
    if found.noun == "tag":
        return reverse("tag", args=[parse(text)])
    return url_of(found.noun, found.id)


def _grouped(found: list[Found], text: str) -> list[Group]:
    """Group by noun, the noun of the best find first, each group in the order found."""
    nouns = list(dict.fromkeys(each.noun for each in found))
    ordered = sorted(found, key=lambda each: nouns.index(each.noun))
    promised = promises(each.id for each in found if each.noun == "place")
    return [
        Group(
            heading=_HEADINGS[noun],
            results=tuple(_result(each, text, promised) for each in of_noun),
        )
        for noun, of_noun in groupby(ordered, key=lambda each: each.noun)
    ]


def _result(found: Found, text: str, promised: dict[int, list[Promise]]) -> Result:
    is_place = found.noun == "place"
    return Result(
        found=found,
        url=_address(found, text),
        promises=tuple(promised.get(found.id, ())) if is_place else (),
    )

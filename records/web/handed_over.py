"""What the files of packs and exports have in common: their names, and who takes addresses."""

import logging
from collections.abc import Iterable

from django.http import HttpRequest, HttpResponse

from records.models import Place

_log = logging.getLogger(__name__)


def file_answer(content: bytes | Iterable[str], content_type: str, file_name: str) -> HttpResponse:
    """Answer a file under its name."""
    disposition = f'attachment; filename="{file_name}"'
    return HttpResponse(content, content_type, headers={"Content-Disposition": disposition})


def note_addresses(request: HttpRequest, place: Place) -> None:
    """Note in the log who takes the addresses of a place."""
    _log.warning("%s took the addresses of place %s", request.user.pk, place.pk)

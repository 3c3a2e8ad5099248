"""What packs and exports have in common: in which form they are asked for, and the file."""

import logging
from collections.abc import Iterable
from typing import Any

from django.http import HttpResponse
from rest_framework import serializers
from rest_framework.request import Request

from api.standing import ReadShape
from records.models import Place

_log = logging.getLogger(__name__)


class FormShape(ReadShape):
    """In which form."""

    addresses = serializers.ChoiceField(
        ["true", "false"],
        required=False,
        help_text="true: for the owner's own copy. Usually homes go by their lines.",
    )


def has_addresses(asked: dict[str, Any]) -> bool:
    """Tell whether a checked query asks for addresses."""
    return asked.get("addresses") == "true"


def file_answer(content: bytes | Iterable[str], content_type: str, file_name: str) -> HttpResponse:
    """Answer a file under its name."""
    disposition = f'attachment; filename="{file_name}"'
    return HttpResponse(content, content_type, headers={"Content-Disposition": disposition})


def note_addresses(request: Request, place: Place) -> None:
    """Note in the log who takes the addresses of a place."""
    _log.warning("%s took the addresses of place %s", request.user.pk, place.pk)

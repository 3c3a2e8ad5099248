"""Reads of the past: `?as_of=` a change's number, a day or a time answers as the record stood."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.utils import timezone
from rest_framework.request import Request

from api.described import parameter
from api.faults import WrongValue, WrongValuesError, echoed
from api.shapes import Shape, Text
from records.queries.moment import NoSuchMomentError, as_it_stood, moment_asked

AS_OF = "as_of"
_WORDS = (
    "Answer as the record stood just after the change of this number, at this time, or at the end "
    "of this day (UTC): 62, 2026-03-02T09:30:00Z, 2026-03-02."
)


class ReadShape(Shape):
    """What may stand behind the '?' of every read of what has a history."""

    as_of = Text(required=False, help_text=_WORDS)


PARAMETER = parameter(AS_OF, {"type": "string", "minLength": 1}, _WORDS)


@contextmanager
def as_asked(request: Request) -> Iterator[None]:
    """Let queries inside answer for the moment asked for, if any. Raises: WrongValuesError."""
    asked = request.query_params.get(AS_OF)
    if asked is None:
        yield
        return
    with as_it_stood(change_number(AS_OF, asked)):
        yield


def change_number(name: str, asked: str) -> int:
    """Return the change after which a value asks for the record. Raises: WrongValuesError."""
    try:
        return moment_asked(asked, now=timezone.now())
    except NoSuchMomentError as error:
        allowed = "the number of a change, or a past day or time"
        wrong = WrongValue(name, echoed(asked), str(error), allowed)
        raise WrongValuesError([wrong], in_query=True) from error

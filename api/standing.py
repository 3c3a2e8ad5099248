"""Reads of the past: `?as_of=<number of a change>` answers as the record stood just after it."""

from collections.abc import Iterator
from contextlib import contextmanager

from rest_framework.request import Request

from api.described import parameter
from api.faults import WrongValue, WrongValuesError, echoed
from api.shapes import ID_MAX, Id, Shape
from records.models import Change
from records.queries.moment import as_it_stood

AS_OF = "as_of"
_WORDS = "The number of a change: answer as the record stood just after it."


class ReadShape(Shape):
    """What may stand behind the '?' of every read of what has a history."""

    as_of = Id(required=False, help_text=_WORDS)


PARAMETER = parameter(AS_OF, {"type": "integer", "format": "int64", "minimum": 1}, _WORDS)


@contextmanager
def as_asked(request: Request) -> Iterator[None]:
    """Let queries inside answer for the moment asked for, if any. Raises: WrongValuesError."""
    asked = request.query_params.get(AS_OF)
    if asked is None:
        yield
        return
    with as_it_stood(_change_number(asked)):
        yield


def _change_number(asked: str) -> int:
    is_number = asked.isascii() and asked.isdecimal() and int(asked[:20]) <= ID_MAX
    if is_number and Change.objects.filter(number=int(asked), sealed=True).exists():
        return int(asked)
    wrong = WrongValue(AS_OF, echoed(asked), "There is no such change.", "the number of a change")
    raise WrongValuesError([wrong], in_query=True)

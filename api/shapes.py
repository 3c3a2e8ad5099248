"""The shape of what comes in: fields that know what is allowed, and one way to check them.

A shape says which values a request may carry and of which type they are. Whether a value makes
sense is the verb's to say.
"""

import math
import re
from collections.abc import Mapping
from typing import Any, ClassVar

from django.http import QueryDict
from rest_framework import serializers
from rest_framework.fields import empty

from api.faults import WrongValue, WrongValuesError, echoed

ID_MAX = 2**63 - 1
"""The largest number that either database keeps."""


_WHOLE = re.compile(r"-?[0-9]{1,20}")
"""Digits as an address or a form has them; Python's own reading takes 1_000 and other scripts."""


class Whole(serializers.IntegerField):
    """A whole number that a database can hold."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"min_value": -ID_MAX, "max_value": ID_MAX, **options})

    def to_internal_value(self, data: Any) -> int:
        is_whole = _WHOLE.fullmatch(data) if isinstance(data, str) else type(data) is int
        if not is_whole:
            self.fail("invalid")
        return int(data)


class Id(Whole):
    """The id of a thing: a whole number from 1."""

    def __init__(self, **options: Any) -> None:
        super().__init__(min_value=1, **options)


class Number(serializers.FloatField):
    """A number, finite: JSON has no way to write any other, but `1e999` reads as one."""

    def to_internal_value(self, data: Any) -> float:
        try:
            number = float(data) if type(data) in {int, float} else math.nan
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            self.fail("invalid")
        return number


class Text(serializers.CharField):
    """Text; how long it may be and whether it may be empty is the verb's to say."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{"allow_blank": True, "trim_whitespace": False, **options})

    def to_internal_value(self, data: Any) -> str:
        if not isinstance(data, str):
            self.fail("invalid")
        return super().to_internal_value(data)


class Shape(serializers.Serializer[Any]):
    """What a request may carry; a name that is not declared is refused, not ignored."""

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, Mapping):
            unknown = [name for name in data if name not in self.fields]
            if unknown:
                raise WrongValuesError([self._unknown(name, data[name]) for name in unknown])
        return super().to_internal_value(data)

    def _unknown(self, name: str, value: Any) -> WrongValue:
        known = f"one of {', '.join(self.fields)}" if self.fields else "no name at all"
        # A mistyped 'password' still holds one.
        is_secret = any(field.write_only for field in self.fields.values())
        shown = None if is_secret else echoed(value)
        return WrongValue(echoed(str(name)), shown, "There is no such name here.", known)


class VerbShape(Shape):
    """What a verb takes, by the names of its arguments, and why the change is made."""

    example: ClassVar[dict[str, Any]]
    """A body as a crew might send it, for the docs."""

    reason = Text(required=False, help_text="Why the change is made; kept with it.")


def checked(shape: type[Shape], body: Any) -> dict[str, Any]:
    """Return the values of a body. Raises: WrongValuesError."""
    held = shape(data=body)
    if held.is_valid():
        return dict(held.validated_data)
    raise WrongValuesError(_wrong(held, body))


def checked_query(shape: type[Shape], query: QueryDict) -> dict[str, Any]:
    """Return the values behind the '?'. Raises: WrongValuesError."""
    refuse_repeated(query)
    try:
        return checked(shape, query.dict())
    except WrongValuesError as error:
        raise WrongValuesError(error.values, in_query=True) from error


def refuse_repeated(query: QueryDict) -> None:
    """Refuse a name given twice, of which all but one would go unheard."""
    repeated = [(name, values) for name, values in query.lists() if len(values) > 1]
    if repeated:
        raise WrongValuesError(
            [
                WrongValue(
                    echoed(name), echoed(values), "It is given more than once.", "one value"
                )
                for name, values in repeated
            ],
            in_query=True,
        )


def _wrong(held: Shape, body: Any) -> list[WrongValue]:
    if not isinstance(body, Mapping):
        return [WrongValue("body", echoed(body), "It is not a JSON object.", "a JSON object")]
    return [
        WrongValue(
            name,
            None if held.fields[name].write_only else echoed(body.get(name)),
            _joined(errors, held.fields[name]),
            allowed(held.fields[name]),
        )
        for name, errors in held.errors.items()
    ]


_SAID = {
    "required": "It is missing.",
    "null": "It is null.",
    "blank": "It is empty.",
    "invalid_choice": "It is not one of those allowed.",
    "min_value": "It is too small.",
    "max_value": "It is too large.",
    "max_length": "It is too long.",
    "max_digits": "It has too many digits.",
    "max_decimal_places": "It has too many digits behind the point.",
    "max_whole_digits": "It has too many digits before the point.",
    "not_a_list": "It is not a list.",
    "not_a_dict": "It is not an object.",
    "max_string_length": "It is too long.",
    "date": "It is a date without a time.",
    "datetime": "It is a date with a time.",
    "make_aware": "It is no time of its time zone.",
    "overflow": "It is out of range.",
    "null_characters_not_allowed": "It holds a null character.",
}
"""What the framework finds wrong, in our words; what will do is told beside it."""


def _joined(errors: Any, field: serializers.Field[Any, Any, Any, Any]) -> str:
    """Return errors in words; those of a list come by position, counted from 0."""
    if isinstance(errors, Mapping):
        field = getattr(field, "child", field)
        return " ".join(f"{at}: {_joined(each, field)}" for at, each in errors.items())
    return " ".join(said(each.code, _allowed(field), otherwise=str(each)) for each in errors)


def said(code: str | None, allowed: str, *, otherwise: str) -> str:
    """Return what is wrong by the framework's code for it, in our words where we have any."""
    return f"It is not {allowed}." if code == "invalid" else _SAID.get(code or "", otherwise)


def allowed(field: serializers.Field[Any, Any, Any, Any]) -> str:
    """Return in words which values a field takes."""
    words = _allowed(field)
    if field.allow_null:
        words += ", or null"
    return words if field.required or field.default is not empty else f"{words}, or leave it out"


def _allowed(field: Any) -> str:
    if isinstance(field, serializers.ChoiceField):
        return f"one of {', '.join(repr(str(each)) for each in field.choices)}"
    if isinstance(field, Whole) and not isinstance(field, Id):
        is_bounded = field.max_value is not None and field.max_value < ID_MAX
        return f"a whole number up to {field.max_value}" if is_bounded else "a whole number"
    if isinstance(field, serializers.ListField) and field.child is not None:
        return f"a list, each {_allowed(field.child)}"
    words = (words for kind, words in _WORDS.items() if isinstance(field, kind))
    return next(words, "a list of objects")


_WORDS: dict[type[serializers.Field[Any, Any, Any, Any]], str] = {
    Id: "the id of a thing, a whole number",
    serializers.FloatField: "a number such as 12.5",
    serializers.DecimalField: "a number such as 12.5",
    serializers.DateField: "a date such as 2026-03-02",
    serializers.DateTimeField: "a time such as 2026-03-02T09:30:00Z",
    serializers.BooleanField: "true or false",
    serializers.RegexField: "a text of the form that the docs give",
    serializers.CharField: "a text",
}

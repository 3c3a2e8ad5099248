"""Read the body of a request: one JSON value, small, and nothing that JSON doesn't know.

Where a person signs in by hand, a form's fields will do as well.
"""

import json
import re
from collections.abc import Mapping
from typing import IO, Any, NoReturn
from urllib.parse import parse_qsl

from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser

from api.faults import FaultError

BODY_MAX = 512 * 1024
"""Bytes of a body: room for a job of a thousand steps."""


class JsonParser(BaseParser):
    """JSON as RFC 8259 wants it: whole UTF-8, no NaN, no name twice in one object."""

    media_type = "application/json"

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """Return the value of a body. Raises: ParseError, FaultError."""
        body = _small(stream)
        try:
            value = json.loads(
                body.decode(), parse_constant=_no_number, object_pairs_hook=_no_name_twice
            )
            # An escape such as \ud800 is half a character: it can be neither kept nor sent back.
            json.dumps(value, ensure_ascii=False).encode()
        except (ValueError, RecursionError) as error:
            words = "too deeply nested" if isinstance(error, RecursionError) else str(error)
            raise ParseError(f"The body is not JSON: {words}{_where(body)}.") from error
        return value


_NO_NUMBER = re.compile(rb'"([a-z_]{1,60})"\s*:\s*-?(?:NaN|Infinity)\b')


def _where(body: bytes) -> str:
    """Return the name that what is no number stands under; empty where there is none."""
    found = _NO_NUMBER.search(body)
    return f", under {found[1].decode()}" if found else ""


class FormParser(BaseParser):
    """The fields of a form, as `curl -d name=value` sends them: whole UTF-8, no name twice."""

    media_type = "application/x-www-form-urlencoded"

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> dict[str, str]:
        """Return the fields by name. Raises: ParseError, FaultError."""
        body = _small(stream)
        try:
            pairs = parse_qsl(
                body.decode(), keep_blank_values=True, strict_parsing=bool(body), errors="strict"
            )
            return _no_name_twice(pairs)
        except ValueError as error:
            raise ParseError("The body is neither JSON nor the fields of a form.") from error


def _small(stream: IO[Any]) -> bytes:
    body: bytes = stream.read(BODY_MAX + 1)
    if len(body) > BODY_MAX:
        raise FaultError("too_large")
    return body


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number")


def _no_name_twice(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _value in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"{twice!a} is given twice")
    return found

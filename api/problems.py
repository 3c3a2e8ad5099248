"""Problems (RFC 9457): the one shape in which everything that is not an answer is told.

A refusal keeps its words: `detail` is its message, `hint` what to do next, as on the page. What
the framework finds wrong (no sign-in, an unknown address, an unreadable body) gets the same shape,
and so does a fault of the program, of which nothing but the fact is told.

Source: RFC 9457, sections 3.1 (members) and 3.2 (further ones: code, hint, field, errors).
"""

import logging
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django.conf import settings
from django.core.exceptions import PermissionDenied, RequestDataTooBig, SuspiciousOperation
from django.http import Http404, UnreadablePostError
from rest_framework import exceptions, serializers
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response

from api.faults import FAULTS, FaultError, WrongValue, WrongValuesError
from labels.refusals import LabelRefusal
from records.changes import Busy, Refusal, is_lock
from records.changes.refusals import Malformed

UNPROCESSABLE = 422
PROBLEM_JSON = "application/problem+json"

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of problem: what its page says, and what all its cases share."""

    code: str
    status: int
    title: str

    @property
    def address(self) -> str:
        """Return the stable address that identifies the kind and explains it."""
        return f"/api/problems/{self.code}/"


def kinds() -> dict[str, Kind]:
    """Return every kind of problem by its code: each refusal, then each fault of a request."""
    listed = [_of_refusal(refusal) for refusal in all_refusals()]
    listed += [_of_label(refusal) for refusal in LabelRefusal.__subclasses__()]
    listed += [_of_fault(code) for code in FAULTS]
    return {each.code: each for each in listed}


def all_refusals(above: type[Refusal] = Refusal) -> Iterator[type[Refusal]]:
    """Yield every kind of refusal, in the order in which they were declared."""
    for refusal in above.__subclasses__():
        yield refusal
        yield from all_refusals(refusal)


def _of_refusal(refusal: type[Refusal]) -> Kind:
    first_line = (refusal.__doc__ or "").strip().partition("\n")[0]
    return Kind(code=refusal.code, status=refusal.status, title=first_line.rstrip("."))


def _of_label(refusal: type[LabelRefusal]) -> Kind:
    first_line = (refusal.__doc__ or "").strip().partition("\n")[0]
    return Kind(code=refusal.code, status=UNPROCESSABLE, title=first_line.rstrip("."))


def _of_fault(code: str) -> Kind:
    return Kind(code=code, status=FAULTS[code].status, title=FAULTS[code].title)


def problem_handler(exception: Exception, context: dict[str, Any]) -> Response:
    """Answer any exception as a problem; a fault of the program goes to the log besides."""
    request = context["request"]
    # A page that fails still answers a problem.
    request.accepted_renderer, request.accepted_media_type = JSONRenderer(), PROBLEM_JSON
    if is_lock(exception):
        # Written beside the record: a token, an Idempotency-Key, a wrong password.
        exception = Busy()
    answer = _answered(exception)
    answer.data["instance"] = request.path
    if answer.status_code == HTTPStatus.UNAUTHORIZED:
        answer["WWW-Authenticate"] = "Token"
    is_busy = isinstance(exception, Busy)
    wait_s = Busy.retry_after_s if is_busy else getattr(exception, "wait", None)
    if wait_s:
        answer["Retry-After"] = str(math.ceil(wait_s))
    return answer


def _answered(exception: Exception) -> Response:
    if isinstance(exception, Refusal):
        return problem(
            _of_refusal(type(exception)),
            detail=exception.message,
            hint=exception.hint,
            field=exception.field,
        )
    if isinstance(exception, LabelRefusal):
        return problem(_of_label(type(exception)), detail=exception.message, hint=exception.hint)
    if isinstance(exception, WrongValuesError):
        return _wrong_values(exception)
    if isinstance(exception, FaultError):
        return fault(exception.code, detail=exception.detail, hint=exception.hint)
    code = _code_of(exception)
    if code == "broken":
        if settings.DEBUG:
            raise exception
        _log.error("A request failed", exc_info=exception)
        return fault(code)
    return fault(code, detail=_said(exception))


_FRAMEWORK_CODES: dict[type[Exception], str] = {
    exceptions.NotAuthenticated: "not_signed_in",
    exceptions.AuthenticationFailed: "not_signed_in",
    exceptions.PermissionDenied: "not_allowed",
    PermissionDenied: "not_allowed",
    exceptions.NotFound: "no_such_address",
    Http404: "no_such_address",
    exceptions.MethodNotAllowed: "method_not_allowed",
    exceptions.NotAcceptable: "not_acceptable",
    exceptions.UnsupportedMediaType: "unsupported_media_type",
    exceptions.ParseError: "unreadable",
    UnreadablePostError: "unreadable",
    exceptions.Throttled: "too_many_requests",
    RequestDataTooBig: "too_large",
    SuspiciousOperation: "unreadable",
}


def _code_of(exception: Exception) -> str:
    """Return the code for the nearest class of an exception of the framework."""
    found = (_FRAMEWORK_CODES.get(each) for each in type(exception).__mro__)
    return next((code for code in found if code), "broken")


def _said(exception: Exception) -> str:
    """Return the framework's own words where they tell more than the kind's title."""
    if isinstance(exception, exceptions.APIException) and isinstance(exception.detail, str):
        return str(exception.detail)
    return ""


def fault(code: str, *, detail: str = "", hint: str = "", field: str = "") -> Response:
    """Answer a fault of a request, in its general words where none are given."""
    kind = _of_fault(code)
    return problem(
        kind, detail=detail or f"{kind.title}.", hint=hint or FAULTS[code].hint, field=field
    )


def _wrong_values(exception: WrongValuesError) -> Response:
    wrong = exception.values
    first = wrong[0]
    several = len(wrong) > 1
    return problem(
        _of_fault("bad_query") if exception.in_query else _of_refusal(Malformed),
        detail=f"{len(wrong)} values are wrong." if several else f"{first.field}: {first.detail}",
        hint="Correct each of the errors listed." if several else f"Give {first.allowed}.",
        field="" if several else first.field,
        errors=wrong,
    )


def problem(
    kind: Kind, *, detail: str, hint: str, field: str = "", errors: Sequence[WrongValue] = ()
) -> Response:
    """Answer with a problem. `field` and `errors` are left out where there are none."""
    data: dict[str, Any] = {
        "type": kind.address,
        "title": kind.title,
        "status": kind.status,
        "detail": detail,
        "code": kind.code,
        "hint": hint,
    }
    if field:
        data["field"] = field
    if errors:
        data["errors"] = [each._asdict() for each in errors]
    return Response(data, status=kind.status, content_type=PROBLEM_JSON)


class ErrorSerializer(serializers.Serializer[Any]):
    """One wrong value: where it stood, what it was, why it won't do, and what would."""

    field = serializers.CharField()
    value = serializers.JSONField(allow_null=True)
    detail = serializers.CharField()
    allowed = serializers.CharField()


class ProblemSerializer(serializers.Serializer[Any]):
    """A problem (RFC 9457). `hint` says what to do; `field` names the argument at fault.

    `errors` lists wrong values one by one. `code` is the last part of `type`, whose address
    explains it.
    """

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    instance = serializers.CharField()
    code = serializers.CharField()
    hint = serializers.CharField()
    field = serializers.CharField(required=False)
    errors = ErrorSerializer(many=True, required=False)  # type: ignore[assignment] # off the class

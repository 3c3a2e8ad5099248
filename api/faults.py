"""What can be wrong with a request before any verb or query hears of it."""

from typing import Any, NamedTuple

from records.intake import Fault as SheetFault


class Fault(NamedTuple):
    """A kind of fault: its code and status, what is wrong, and what to do in general."""

    code: str
    status: int
    title: str
    hint: str


_LISTED = (
    Fault("bad_query", 400, "A wrong value in the address", "Correct the part behind the '?'."),
    Fault("unreadable", 400, "A body that is not JSON", "Send one JSON object in UTF-8."),
    Fault(
        "bad_key", 400, "An Idempotency-Key of a wrong form", "Send 1 to 100 visible characters."
    ),
    Fault("not_signed_in", 401, "No sign-in", "Send 'Authorization: Token ...' (/api/token/)."),
    Fault("sign_in_failed", 401, "A wrong name or password", "Check both and try again."),
    Fault("not_allowed", 403, "Not allowed", "Ask someone who may."),
    Fault("no_such_address", 404, "No such address", "/api/docs/ lists every address."),
    Fault("method_not_allowed", 405, "A method that this address has not", "Use one of Allow."),
    Fault("not_acceptable", 406, "A form of answer that is not made", "Accept application/json."),
    Fault("still_running", 409, "The same request is still running", "Wait and repeat it."),
    Fault(
        "prints_otherwise",
        409,
        "A file that would differ from what was printed",
        "The program draws otherwise today; ask with ?anyway=true if that will do.",
    ),
    Fault("too_large", 413, "A body that is too large", "Send at most 512 KiB."),
    Fault("unsupported_media_type", 415, "A body of another type", "Send application/json."),
    Fault("key_reused", 422, "An Idempotency-Key used for another request", "Use a fresh key."),
    Fault("too_many_requests", 429, "Too many requests", "Wait as long as Retry-After says."),
    Fault("locked_out", 429, "Too many wrong passwords", "Wait as long as Retry-After says."),
    Fault("broken", 500, "A fault of the program", "Report the time and the address."),
)

FAULTS = {fault.code: fault for fault in _LISTED}
"""Every kind of fault by its code."""


class FaultError(Exception):
    """A fault of a request, with words for this case where the general ones don't do."""

    def __init__(self, code: str, detail: str = "", *, hint: str = "", wait: float = 0) -> None:
        """Name the kind of fault; `wait` says in how many seconds to come back."""
        super().__init__(detail or FAULTS[code].title)
        self.code = code
        self.detail = detail
        self.hint = hint
        self.wait = wait


class WrongValue(NamedTuple):
    """One value that can't be used: where it stood, what it was, why, and what would do."""

    field: str
    value: Any
    detail: str
    allowed: str


ECHO_MAX = 100
"""Characters of a wrong value that are sent back."""


def echoed(value: Any) -> Any:
    """Return a value as it can be sent back: itself if it is short and plain, else its look."""
    if value is None or isinstance(value, bool):
        return value
    text = value if isinstance(value, str) else repr(value)
    short = text if len(text) <= ECHO_MAX else f"{text[:ECHO_MAX]}..."
    is_plain = isinstance(value, int) and short == text
    return value if is_plain else short


def wrong_in(name: str, fault: SheetFault) -> WrongValue:
    """Return what is wrong in a sheet that a body holds under a name: all rows that clash."""
    field = ", ".join(part for part in (name, fault.place) if part)
    return WrongValue(field, echoed(fault.value), fault.message, fault.allowed)


class WrongValuesError(Exception):
    """Values of a body, or behind the '?', that can't be used."""

    def __init__(self, values: list[WrongValue], *, in_query: bool = False) -> None:
        """List what is wrong, one value at least; `in_query` where it stood behind the '?'."""
        super().__init__(f"{len(values)} wrong values")
        self.values = values
        self.in_query = in_query

"""Who a request is made for."""

from typing import Any

from rest_framework.request import Request


def signed_in(request: Request) -> Any:
    """Return who is signed in, or no endpoint would have been reached."""
    return request.user

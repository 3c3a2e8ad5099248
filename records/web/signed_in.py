"""Who is at work."""

from django.contrib.auth.models import AbstractBaseUser
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest


def signed_in(request: HttpRequest) -> AbstractBaseUser:
    """Return the user who signed in. Raises: PermissionDenied, where the middleware is off."""
    if not request.user.is_authenticated:
        raise PermissionDenied
    return request.user

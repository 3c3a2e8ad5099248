"""Token sign-in: a name and password for a token, and the token given back."""

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.contrib.auth import authenticate
from django.http import HttpRequest
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.authentication import BaseAuthentication
from rest_framework.authtoken.models import Token
from rest_framework.permissions import IsAuthenticated
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.bodies import FormParser, JsonParser
from api.faults import FaultError
from api.shapes import Shape, Text, checked


class SignInShape(Shape):
    """Who signs in."""

    username = Text(help_text="As on the sign-in page.")
    password = Text(write_only=True)


class TokenSerializer(serializers.Serializer[Token]):
    """What to send with every request, as `Authorization: Token <token>`."""

    token = serializers.CharField(source="key")


class IsSigningInOrSignedIn(IsAuthenticated):
    """Anyone may try to sign in; all else is for those who have."""

    def has_permission(self, request: Request, view: APIView) -> bool:
        """Tell whether to go on."""
        return request.method == "POST" or super().has_permission(request, view)


class TokenView(APIView):
    """Sign in and out by token."""

    permission_classes = (IsSigningInOrSignedIn,)
    parser_classes = (JsonParser, FormParser)

    def get_authenticators(self) -> Sequence[BaseAuthentication]:  # type: ignore[override] # stub says list
        # An old token or session sent along must not get in the way of a fresh sign-in.
        asked: HttpRequest | None = getattr(self, "request", None)
        return [] if asked and asked.method == "POST" else super().get_authenticators()

    @extend_schema(
        operation_id="sign_in",
        request=SignInShape,
        responses=TokenSerializer,
        auth=[],
        tags=["sign-in"],
    )
    def post(self, request: Request) -> Response:
        """Sign in: get the token to send as `Authorization: Token <token>`.

        A user has one token; it holds until it is given back. JSON or a form's fields:
        `curl -d username=... -d password=... .../api/token/`.
        """
        who = checked(SignInShape, request.data)
        user = _authenticated(request._request, who)  # noqa: SLF001 - axes marks Django's own
        token, _ = Token.objects.get_or_create(user=user)
        return Response(TokenSerializer(token).data)

    @extend_schema(
        operation_id="sign_out",
        request=None,
        responses={204: OpenApiResponse(description="The token no longer holds.")},
        tags=["sign-in"],
    )
    def delete(self, request: Request) -> Response:
        """Sign out: the token no longer holds, on any device."""
        Token.objects.filter(user=request.user.pk).delete()
        return Response(status=204)


def _authenticated(request: HttpRequest, who: dict[str, Any]) -> Any:
    """Return who signs in. Raises: FaultError for wrong ones, and after too many of them."""
    user = authenticate(request, **who)
    if getattr(request, "axes_locked_out", False):
        # Said here as a problem; the middleware would answer with a page.
        request.axes_locked_out = False  # type: ignore[attr-defined] # set by django-axes
        raise FaultError("locked_out", wait=settings.AXES_COOLOFF_TIME.total_seconds())
    if user is None:
        raise FaultError("sign_in_failed")
    return user

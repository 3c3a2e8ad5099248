"""Ask the API as a signed-in client does."""

from typing import Any

from django.test import Client
from rest_framework.authtoken.models import Token

from tests.factories import user


class Api:
    """A client that signs in by token and speaks JSON."""

    def __init__(self, name: str = "crew") -> None:
        """Sign in as the user of that name."""
        token, _ = Token.objects.get_or_create(user=user(name))
        self.client = Client(SERVER_NAME="localhost", raise_request_exception=False)
        self.headers = {"Authorization": f"Token {token.key}"}

    def get(self, address: str, **query: Any) -> Any:
        """Return the response to a GET under /api/."""
        return self.client.get(f"/api/{address}", query, headers=self.headers)

    def read(self, address: str, **query: Any) -> Any:
        """Return what a GET under /api/ answers; it must succeed."""
        answer = self.get(address, **query)
        assert answer.status_code == 200, answer.content
        return answer.json()

    def post(self, address: str, body: Any = None, **headers: str) -> Any:
        """Return the response to a POST of JSON under /api/."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return self.client.post(
            f"/api/{address}",
            {} if body is None else body,
            content_type="application/json",
            headers=self.headers | named,
        )

    def do(self, verb: str, **arguments: Any) -> Any:
        """Return what a verb answers; it must succeed."""
        answer = self.post(address_of(verb), arguments)
        assert answer.status_code == 201, answer.content
        return answer.json()


def address_of(verb: str) -> str:
    """Return the address of a verb below /api/."""
    return f"verbs/{verb.replace('.', '/').replace('_', '-')}/"


def told(answer, status, code):
    """Return the problem of an answer, which must be of that status and code."""
    assert answer.status_code == status, answer.content
    assert answer.headers["Content-Type"] == "application/problem+json"
    problem = answer.json()
    assert (problem["status"], problem["code"]) == (status, code)
    return problem

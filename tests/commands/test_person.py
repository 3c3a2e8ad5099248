"""Accounts for the crew: no owners, and never with a password that anyone guesses."""

import pytest
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command

from records.management.commands import person

pytestmark = pytest.mark.django_db
GOOD = "prove-it-dark-first"


@pytest.fixture
def typed(monkeypatch):
    """Let the next passwords be typed."""

    def let(*passwords):
        answers = iter(passwords)
        monkeypatch.setattr(person, "getpass", lambda _prompt: next(answers))

    return let


def test_one_of_the_crew_gets_an_account_that_is_no_owner_and_a_new_password(typed, capsys):
    typed(GOOD, GOOD, GOOD * 2, GOOD * 2)

    call_command("person", "anna")
    call_command("person", "anna")

    anna = get_user_model().objects.get(username="anna")
    assert anna.check_password(GOOD * 2)
    assert not anna.is_superuser
    assert capsys.readouterr().out == "anna can sign in now.\nanna has a new password.\n"


@pytest.mark.parametrize(
    ("name", "passwords", "words"),
    [
        ("anna", (GOOD, "x"), "The two differ"),
        ("anna", ("anna1", "anna1"), "too s"),
        ("an na", (GOOD, GOOD), "valid username"),
        ("a" * 200, (GOOD, GOOD), "at most 150 characters"),
        (" ", (GOOD, GOOD), "Say what the person signs in as"),
    ],
)
def test_what_can_not_be_an_account_is_refused_in_words(typed, name, passwords, words):
    typed(*passwords)
    with pytest.raises(CommandError, match=words):
        call_command("person", name)
    assert not get_user_model().objects.filter(username=name).exists()


def test_a_closed_account_gets_no_password_that_would_not_let_it_in(typed):
    get_user_model().objects.create_user("anna", is_active=False)
    typed(GOOD, GOOD)

    with pytest.raises(CommandError, match="The account anna is closed"):
        call_command("person", "anna")

    assert not get_user_model().objects.get(username="anna").has_usable_password()

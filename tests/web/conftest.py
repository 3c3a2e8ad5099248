"""A browser of the crew's, for the pages."""

import pytest

from tests.factories import user


@pytest.fixture
def crew(client, db):
    """Return a client signed in as the crew."""
    client.force_login(user())
    return client

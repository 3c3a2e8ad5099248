"""A name behind the '?' as the schema describes it."""

from typing import Any


def parameter(name: str, schema: dict[str, Any], description: str) -> dict[str, Any]:
    """Return the description of an optional name and its values."""
    return {
        "name": name,
        "in": "query",
        "required": False,
        "description": description,
        "schema": schema,
    }

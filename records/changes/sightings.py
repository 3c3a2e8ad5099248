"""Note that a label was seen on the wall. A scan alters nothing, so no change is made of it."""

from datetime import datetime, timedelta

from django.contrib.auth.models import AbstractBaseUser

from records.models import Sighting, Tag

AGAIN_AFTER = timedelta(minutes=10)
"""A person who scans the same label again before this has seen it once."""


def see(tag: Tag, *, by: AbstractBaseUser, at: datetime) -> None:
    """Note that a person scanned a label."""
    recent = Sighting.objects.filter(tag=tag, by_id=by.pk, at__gt=at - AGAIN_AFTER)
    if not recent.exists():
        Sighting.objects.create(tag=tag, by_id=by.pk, at=at)

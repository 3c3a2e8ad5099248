"""What files that are handed over are called: a file's name is seen by more than its reader."""

from records.models import Place
from records.queries.moment import number_asked


def file_name(place: Place, what: str, ending: str, *, has_addresses: bool) -> str:
    """Return a name that tells place, moment and form, and no address.

    It is asked for within `one_moment`.
    """
    form = "-with-addresses" if has_addresses else ""
    return f"place-{place.pk}-{what}-after-change-{number_asked()}{form}.{ending}"

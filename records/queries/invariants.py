"""Is the record sound? One small read-only function a law; its docstring is the law.

`broken()` runs all of them: `manage.py verify` on the live database, the tests after each random
step, the demo once it is built. Nothing here trusts what a verb keeps: conditions, feeds and
search words are derived again, most of them in another way than the verbs derive them.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from records.queries import _laws_of_history as history
from records.queries import _laws_of_light as light
from records.queries import _laws_of_plant as plant

Law = Callable[[], Iterator[str]]

INVARIANTS: tuple[Law, ...] = (
    plant.joints_have_two_ends,
    plant.legs_and_lines_have_one_open_booking,
    plant.leg_conditions_follow,
    plant.cables_have_their_fibres,
    plant.places_form_a_tree,
    plant.tags_have_their_check_character,
    light.feeds_equal_a_recomputation,
    light.feeds_form_a_tree,
    light.wavelengths_meet_only_as_main_and_standby,
    light.light_crosses_a_joint_one_way,
    light.light_and_bookings_agree,
    history.history_holds_what_stands,
    history.versions_do_not_overlap,
    history.changes_are_sealed,
    history.search_words_are_current,
    history.changes_are_as_sealed,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One breach of a law, in words."""

    law: str
    words: str


def broken(laws: Iterable[Law] = INVARIANTS) -> Iterator[Finding]:
    """Return what breaks the laws, in their order."""
    for law in laws:
        text = " ".join((law.__doc__ or "").split())
        for words in law():
            yield Finding(law=text, words=words)

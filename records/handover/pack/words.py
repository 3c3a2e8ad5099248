"""How levels, verdicts and readings are put in a table of a pack, in few words."""

from collections.abc import Iterable

from records.handover.figures import number
from records.optics.verdicts import Verdict
from records.queries.levels import Lit
from records.queries.readings import Judged

NONE = "\N{EN DASH}"
IN_ORDER = "in order"
STROKE = "Behind a stroke stands the level from the standby."


def levels_of(light: Iterable[Lit]) -> str:
    """Return the typical level of each system, a row each; the standby's behind a stroke."""
    by_system: dict[str, list[str]] = {}
    for each in light:
        levels = by_system.setdefault(each.optical_class.system, [])
        levels.append(number(each.level.typical_dbm))
    if len(by_system) == 1:
        return " / ".join(*by_system.values())
    return "\n".join(f"{system} {' / '.join(levels)}" for system, levels in by_system.items())


def short_names(light: Iterable[Lit]) -> list[str]:
    """Return the systems of some channels, with class and standby where that tells them apart."""
    listed = list(light)
    systems = [each.optical_class.system for each in listed]
    if len(set(systems)) == len(systems):
        return systems
    return [each.name for each in listed]


def verdict_of(light: Iterable[Lit]) -> str:
    """Return in short what is wrong for a terminal in this light, or that nothing is."""
    listed = list(light)
    if not listed:
        return "dark"
    wrong = [
        f"{name} {way}: {faults_of(verdicts)}"
        if len(listed) > 1
        else f"{way}: {faults_of(verdicts)}"
        for name, each in zip(short_names(listed), listed, strict=True)
        for way, verdicts in (("down", each.down_verdicts), ("up", each.up_verdicts))
        if verdicts
    ]
    return "\n".join(wrong) or IN_ORDER


def faults_of(verdicts: Iterable[Verdict]) -> str:
    """Return the names of what is wrong, or that nothing is."""
    return ", ".join(each.fault for each in verdicts) or IN_ORDER


def read_words(judged: Judged | None) -> str:
    """Return a reading with its verdict."""
    if judged is None:
        return NONE
    level = "no light" if judged.level_dbm is None else number(judged.level_dbm)
    words = level if judged.level_dbm is None else f"{level} {judged.verdict.outcome}"
    return f"{words}, before change {judged.altered_by}" if judged.is_before_change else words

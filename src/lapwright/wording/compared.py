"""What a comparison of two laps comes to in one line, and what else differed between them."""

from lapwright.coaching.conditions import not_comparable, surface
from lapwright.laps.comparison import Comparison
from lapwright.units import is_equal

_NOTED = ("driver", "car", "tyres", "conditions")


def against(comparison: Comparison, said: str) -> str:
    """
    Say how much a lap was slower or quicker than the reference lap.

    Parameters
    ----------
    comparison : Comparison
    said : str
        The difference with its error bar and unit, as it is written in that place.

    Returns
    -------
    str
    """
    c = comparison
    base = f"lap {c.reference}" + (f" of {c.reference_log.name}" if c.other_log else "")
    if c.lap == c.reference and not c.other_log:
        return f"Lap {c.lap} against itself: no difference"
    if is_equal(c.time_difference_s, c.time_difference_sd_s):
        return f"Lap {c.lap} against {base}: too close to tell apart ({said})"
    which = "slower" if c.time_difference_s > 0.0 else "quicker"
    return f"Lap {c.lap} against {base}: {said} ({which})"


def what_differed(comparison: Comparison) -> list[str]:
    """
    Say what else may be the reason: wet and dry first, then what the notes of two logs name.

    Parameters
    ----------
    comparison : Comparison

    Returns
    -------
    list of str
        Sentences; none for two laps of one log that the notes call neither wet and dry nor
        changing.
    """
    c = comparison
    one, two = c.noted.notes, c.reference_noted.notes
    said = []
    if not_comparable(one, two):
        said.append(_surfaces(one.conditions, two.conditions, other_log=c.other_log))
    if not c.other_log:
        return said
    different = [
        f"{what} ({a} against {b})" for what, a, b in _different(c)
        if what != "conditions" or not said
    ]  # fmt: skip
    if different:
        said.append(f"Different, according to the notes and the logs: {', '.join(different)}.")
    return said


def _surfaces(mine: str, other: str, *, other_log: bool) -> str:
    if other_log and surface(mine) != surface(other) and surface(mine) and surface(other):
        return (
            f"Noted as {surface(mine)} ({mine}) against {surface(other)} ({other}): the track "
            "differed, so no difference below need be the driver's."
        )
    changed = mine if surface(mine) == "changing" else other
    return f"Noted as changing ({changed}): the track may differ between the two laps."


def _different(comparison: Comparison) -> list[tuple[str, str, str]]:
    """What is noted of both and is not the same, and the days."""
    sides = comparison.noted, comparison.reference_noted
    found = [(name, *(str(getattr(side.notes, name)) for side in sides)) for name in _NOTED]
    days = ["" if side.start_utc is None else f"{side.start_utc:%Y-%m-%d}" for side in sides]
    found.append(("day", *days))
    return [
        (what, a, b) for what, a, b in found
        if a and b and a.casefold().split() != b.casefold().split()
    ]  # fmt: skip

"""What a comparison of two laps comes to, in one line."""

from lapwright.laps.comparison import Comparison
from lapwright.units import is_equal


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

"""A change and its 95 % interval in a sentence or two."""

import numpy as np

from lapwright.arguments import checked
from lapwright.coaching.before_after import Difference
from lapwright.coaching.car_change import BeforeAfter
from lapwright.units import clock
from lapwright.wording.coaching.before_after import before_after_sentences
from lapwright.wording.coaching.change_words import ChangeWords


@checked
def change_text(what: str, change: BeforeAfter | Difference) -> str:
    """
    Say a change of a time in sentences.

    Parameters
    ----------
    what : str
        For example ``"Clean laps"``.
    change : BeforeAfter or Difference
        Of times. [s]

    Returns
    -------
    str

    Examples
    --------
    >>> import pandas as pd
    >>> import lapwright as lw
    >>> friday = pd.DataFrame({"time_s": [95.1, 95.3, 95.0, 95.2], "representative": True})
    >>> saturday = friday.assign(time_s=friday["time_s"] - 0.5)
    >>> said = lw.change_text("Clean laps", lw.before_after(friday, saturday))
    >>> said.split(" (")[0]
    'Clean laps: 0.50 s quicker'
    """
    if isinstance(change, BeforeAfter):
        return " ".join(before_after_sentences(what, change))
    laps = f"{change.count_before} laps before, {change.count_after} now"
    if min(change.count_before, change.count_after) < 2 or not np.isfinite(change.difference):
        return f"{what}: too few to compare ({laps})."
    time = ChangeWords()
    said = (
        f"{what}: on average {clock(change.before, most=2)} before, "
        f"{clock(change.after, most=2)} now, "
        f"{time.amount(change.difference)} (95 % interval "
        f"{time.interval(change.low95, change.high95)}; {laps})."
    )
    if change.too_few:
        return f"{said} That is too few laps to rely on."
    if not change.resolved:
        return f"{said} So it could be nothing."
    return said

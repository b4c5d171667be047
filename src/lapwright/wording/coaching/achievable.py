"""
What a driver's own laps would add up to, in sentences: a calculation, never advice.

The terminal, the page, the paper and a notebook show the same ones.
"""

from collections.abc import Mapping

import pandas as pd

from lapwright.achievable import MIN_LAPS, Achievable
from lapwright.coaching.conditions import changing
from lapwright.columns import records
from lapwright.errors import LapError
from lapwright.geometry import Corner
from lapwright.session import Session
from lapwright.units import clock
from lapwright.wording.terms import corner_in_text

Corners = Mapping[int, Corner]

HEADING = "What your own laps add up to (calculated)"
# Beside every figure of the calculated lap.
CALCULATED = (
    "Calculated from your own laps, not driven and not advice. It says nothing of where to brake "
    "or how fast to go; officials and your instructor come first."
)
# Beside the table of the corners.
TABLE = (
    "From before the braking for each corner to before the next. The gap is usual less calculated, "
    "and line, minimum speed, braking and throttle add up to it; these four have no error bar of "
    "their own, so read them as shares of the gap. The sd of a usual or calculated figure holds "
    "your scatter and the doubt of the calculation."
)
_PARTS = {
    "minimum_s": "minimum speed",
    "braking_s": "braking",
    "throttle_s": "throttle",
    "line_s": "line",
}
# As many places as a driver keeps in mind.
_MOST = 2


def achievable_of(session: Session) -> Achievable | None:
    """
    Return what a session's own laps add up to, where there is anything to say.

    Parameters
    ----------
    session : Session

    Returns
    -------
    Achievable or None
        None where the laps are too few or do not compare.
    """
    if len(session.clean_laps) < MIN_LAPS or changing(session.notes.conditions):
        return None
    try:
        return session.achievable
    except LapError:
        # A car that never brakes: there is nothing to say, and no fault of the log's.
        return None


def achievable_in_words(
    found: Achievable | None, corners: Corners, places: int = _MOST
) -> tuple[str, ...]:
    """
    Say what a session's own laps add up to.

    Parameters
    ----------
    found : Achievable or None
    corners : mapping of int to Corner
        By number.
    places : int
        How many corners are named at most.

    Returns
    -------
    tuple of str
        A text each; none where there is nothing to say.
    """
    if found is None:
        return ()
    texts = [_lap_text(found)]
    if found.only_scatter:
        texts.append(
            "Your usual lap is inside that interval: over the whole lap there is nothing left but "
            "scatter."
        )
    texts += [_places_text(found.corners, corners, places), _beyond_text(found)]
    return tuple(text for text in texts if text)


def _lap_text(found: Achievable) -> str:
    time, low, high = (
        clock(value, found.time_sd_s)
        for value in (found.time_s, found.time_low95_s, found.time_high95_s)
    )
    usual, best = clock(found.usual_s, found.usual_sd_s, most=2), clock(found.best_s, most=2)
    return (
        f"Your usual line, cornering, braking and acceleration all on one lap: {time} s "
        f"(95 % interval {low} to {high} s). Your {len(found.laps)} clean laps average {usual} s, "
        f"your best is {best} s."
    )


def _places_text(table: pd.DataFrame, corners: Corners, places: int) -> str:
    """Name where the gap is more than scatter, and what it is made of."""
    clear = table[~table["only_scatter"]].nlargest(places, "gap_s")
    if clear.empty:
        return "In no one corner is the gap to your usual run more than scatter."
    said = []
    for row in records(clear):
        number = int(row["corner"])
        name = corners[number].name if number in corners else ""
        parts = sorted(_PARTS, key=lambda part: -row[part])
        made = ", ".join(f"{_PARTS[part]} {_hundredths(row[part])}" for part in parts)
        low, high = _hundredths(row["gap_low95_s"]), _hundredths(row["gap_high95_s"])
        where = corner_in_text(number, name)
        said.append(f"{where} by {_hundredths(row['gap_s'])} s ({low} to {high}; {made})")
    return (
        f"Where your usual run is slower than the calculated one: {'; '.join(said)}. In brackets "
        "the 95 % interval, and what the gap is made of."
    )


def _beyond_text(found: Achievable) -> str:
    """Say what of it nobody has driven."""
    table = found.corners
    # Where the gap may be nothing, nothing lies beyond.
    places = table.loc[table["beyond"] & ~table["only_scatter"], "corner"].tolist()
    whole = found.beyond and not found.only_scatter
    if not whole and not places:
        return ""
    what = []
    if whole:
        what.append("as a whole lap")
    if places:
        word = "corner" if len(places) == 1 else "corners"
        what.append(f"in {word} {', '.join(map(str, places))}")
    return (
        f"It lies beyond anything you have driven here {' and '.join(what)}: that is "
        "arithmetic, and stays out of what is worth trying."
    )


def _hundredths(value: float) -> str:
    """Seconds to two digits with a true minus sign, never minus nothing."""
    text = f"{value:.2f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text.replace("-", "\N{MINUS SIGN}")

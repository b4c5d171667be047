"""Sentences of a weekend's page: best laps, pace, corners over the sessions, where to begin."""

import math
from collections.abc import Sequence

from lapwright.coaching.before_after import Difference
from lapwright.coaching.car_change.effect import BeforeAfter
from lapwright.coaching.pooled import Pooled
from lapwright.units import clock, decimals_for, error_bar, is_equal
from lapwright.wording.coaching.follow_up import CODE_NAMES
from lapwright.wording.seconds import seconds_with_spread
from lapwright.wording.terms import at_corner

SURFACES = {
    "dry": "Dry",
    "wet": "Wet",
    "changing": "Drying or mixed",
    "": "Conditions not noted",
}
NO_DRIVER = "driver not noted"
NOTHING_NOTED = (
    "Nothing is noted for these sessions. Write driver, tyres, changes and what was tried into "
    "weekend.toml beside the logs, and this page follows them up."
)
ONE_DRIVER = (
    "No driver is noted for some sessions; they are taken for one driver's. If they are not, note "
    "who drove in weekend.toml."
)
NOT_COMPARED = (
    "Drying or mixed: the laps of such a session do not compare, so its corners are not held "
    "against other sessions."
)
TYPICAL = (
    "Mean of the session's clean laps. Its \N{PLUS-MINUS SIGN} holds the spread from lap to lap "
    "and the receiver's error; a session with fewer than three such laps has none."
)
CHANGE = (
    "Change from first to last session of the same driver, with its 95 % interval: of the laps' "
    "spread and the receiver, not of how sessions differ by themselves. Tyres, fuel, wind and "
    "temperature changed as well, so it need not be the driver."
)
CARD = (
    "For the next visit. Usual: the clean laps of all sessions together. Best: on the best lap of "
    "the weekend, one lap. Neither is a target: another day has another track. Build up to it; "
    "officials and your instructor come first."
)
CARD_BARS = (
    "Of the usual figures it holds the spread from lap to lap and from session to session as well."
)
NO_FINDING = "Nothing was shown that is worth trying."
MEDIAN_BARS = (
    "Median, spread: of the clean laps; their \N{PLUS-MINUS SIGN} comes from the spread itself and "
    "the number of laps. Wet and dry sessions are not held against each other."
)


def who(driver: str) -> str:
    """
    Name a driver.

    Examples
    --------
    >>> who("Runa Tidewell"), who("")
    ('Runa Tidewell', 'driver not noted')
    """
    return driver or NO_DRIVER


def lap_of(driver: str, lap: int, session: str) -> str:
    """
    Say whose lap it was.

    Examples
    --------
    >>> lap_of("Runa Tidewell", 4, "sunday_race"), lap_of("", 4, "sunday_race")
    ('Runa Tidewell, lap 4 of sunday_race', 'lap 4 of sunday_race')
    """
    return f"{driver}, lap {lap} of {session}" if driver else f"lap {lap} of {session}"


def against(mine: str, reference: str) -> str:
    """
    Head a comparison of two drivers.

    Examples
    --------
    >>> against("Runa", "Ivo")
    'Runa against Ivo'
    """
    return f"{mine} against {reference}"


def own_against(driver: str, first: str, best: str) -> str:
    """
    Head a comparison of a driver's first session with the best one.

    Examples
    --------
    >>> own_against("Runa", "friday", "sunday"), own_against("", "friday", "sunday")
    ('Runa: friday against sunday', 'friday against sunday')
    """
    return f"{driver}: {against(first, best)}" if driver else against(first, best)


def time_text(time_s: float, sd_s: float) -> str:
    """
    Write a lap time with its error bar.

    Examples
    --------
    >>> time_text(94.3861, 0.0071)
    '1:34.386 ± 0.007 s'
    """
    return f"{clock(time_s, sd_s)} \N{PLUS-MINUS SIGN} {error_bar(sd_s)} s"


def gap_in_words(gap_s: float, sd_s: float) -> str:
    """
    Say how far behind a lap was, or that it cannot be told.

    Examples
    --------
    >>> gap_in_words(0.284, 0.009), gap_in_words(0.01, 0.009)
    ('0.284 ± 0.009 s behind', 'too close to call')
    """
    if is_equal(gap_s, sd_s):
        return "too close to call"
    decimals = decimals_for(sd_s)
    return f"{gap_s:.{decimals}f} \N{PLUS-MINUS SIGN} {sd_s:.{decimals}f} s behind"


def pace_text(driver: str, first: str, last: str, one: BeforeAfter) -> str:
    """
    Say how the clean laps changed from one session to another.

    Parameters
    ----------
    driver, first, last : str
        Who drove, and the two sessions.
    one : BeforeAfter
        Its interval allows for how sessions differ by themselves.

    Returns
    -------
    str

    Examples
    --------
    >>> import pandas as pd
    >>> import lapwright as lw
    >>> laps = pd.DataFrame({"time_s": [95.1, 95.3, 95.0, 95.2, 95.1], "representative": True})
    >>> quicker = laps.assign(time_s=laps["time_s"] - 0.5)
    >>> pace_text("Runa", "friday", "sunday", lw.before_after(laps, quicker)).split(" (")[0]
    'Runa, friday to sunday: clean laps 0.50 s quicker'
    """
    head = f"{who(driver)[:1].upper()}{who(driver)[1:]}, {first} to {last}: clean laps"
    quicker = one.change_s < 0.0
    text = f"{head} {abs(one.change_s):.2f} s {'quicker' if quicker else 'slower'}"
    if not math.isfinite(one.low95_s):
        return f"{text}, of too few laps for an interval."
    low, high = (-one.high95_s, -one.low95_s) if quicker else (one.low95_s, one.high95_s)
    text = f"{text} ({_range(low, high)}, 95 % interval)"
    return f"{text}." if one.resolved else f"{text}, so it could be nothing."


def _range(low: float, high: float) -> str:
    """Both ends of an interval in seconds."""
    return " to ".join(f"{v:.2f}".replace("-", "\N{MINUS SIGN}") for v in (low, high)) + " s"


def also_changed(what: Sequence[str]) -> str:
    """
    Say what else is noted to differ between two sessions; empty where nothing is.

    Examples
    --------
    >>> also_changed(["tyres"])
    'The notes also have other tyres, so it need not be the driving.'
    """
    if not what:
        return ""
    return f"The notes also have other {' and '.join(what)}, so it need not be the driving."


def found_in(sessions: Sequence[str]) -> str:
    """
    Say which sessions showed a thing.

    Examples
    --------
    >>> found_in(["friday"]), found_in(["friday", "sunday"])
    ('Shown in friday.', 'Shown in friday and sunday.')
    """
    listed = " and ".join(filter(None, (", ".join(sessions[:-1]), sessions[-1])))
    return f"Shown in {listed}."


def seen_elsewhere(session: str, quicker_s: float, sd_s: float, differs: Sequence[str]) -> str:
    """
    Say what another session shows of the same two ways.

    Examples
    --------
    >>> seen_elsewhere("sunday", 0.12, 0.05, ["tyres"])
    'In sunday the laps nearer to that way were 0.12 s (sd 0.05 s) quicker; other tyres.'
    """
    word = "quicker" if quicker_s >= 0.0 else "slower"
    text = f"In {session} the laps nearer to that way were "
    text += f"{seconds_with_spread(abs(quicker_s), sd_s)} {word}"
    return f"{text}; other {' and '.join(differs)}." if differs else f"{text}."


def together_text(both: Pooled) -> str:
    """
    Say what the sessions with the same car and tyres show together.

    Examples
    --------
    >>> together_text(Pooled(0.15, 0.03, 0.0))
    'Together: 0.15 s a lap (0.09 to 0.21 s, 95 % interval).'
    """
    text = f"Together: {both.value:.2f} s a lap ({_range(both.low95, both.high95)}, 95 % interval)"
    text = text.replace("-", "\N{MINUS SIGN}")
    return f"{text}." if both.stands else f"{text}, so it could be nothing."


def last_ways_text(session: str, better: int, runs: int, *, done: bool) -> str:
    """
    Say how the last session drove a corner.

    Examples
    --------
    >>> last_ways_text("sunday", 5, 6, done=True)
    'In sunday, the last session, 5 of 6 clean laps were nearer to that way: little is left in it.'
    """
    text = f"In {session}, the last session, {better} of {runs} clean laps were nearer to that way"
    return f"{text}: little is left in it." if done else f"{text}."


def by_chance(changes: int) -> str:
    """
    Say how many of so many changes stand out by chance alone.

    Examples
    --------
    >>> by_chance(60)
    'Of the 60 changes below, about 3 would stand out by chance alone.'
    >>> by_chance(4)
    'Of the 4 changes below, one stands out by chance alone in about 20 % of weekends.'
    """
    if changes < 20:
        share = 100.0 * (1.0 - 0.95**changes)
        rounded = max(5, 5 * round(share / 5.0))
        return (
            f"Of the {changes} changes below, one stands out by chance alone in about "
            f"{rounded} % of weekends."
        )
    by_luck = round(changes / 20)
    return f"Of the {changes} changes below, about {by_luck} would stand out by chance alone."


def alone_text(session: str) -> str:
    """
    Say that no other session could be asked.

    Examples
    --------
    >>> alone_text("friday")
    'No other session has enough laps of either way to check it; it rests on friday alone.'
    """
    return (
        f"No other session has enough laps of either way to check it; it rests on {session} alone."
    )


def changed(driver: str) -> str:
    """
    Lead a driver's changes from first to last session.

    Examples
    --------
    >>> changed("Runa Tidewell")
    'Change from first to last session, Runa Tidewell'
    """
    return f"Change from first to last session, {who(driver)}"


def change_text(one: Difference, factor: float, decimals: int) -> str:
    """
    Write a change with its 95 % interval.

    Examples
    --------
    >>> change_text(Difference(1.0, 2.0, 1.0, 0.4, 1.6, 5, 5), 3.6, 1)
    '+3.6 (+1.4 to +5.8)'
    """
    if not math.isfinite(one.high95):
        return ""
    values = (one.difference, one.low95, one.high95)
    return "{} ({} to {})".format(*(_signed(v * factor, decimals) for v in values))


def _signed(value: float, decimals: int) -> str:
    text = f"{abs(value):.{decimals}f}"
    if float(text) == 0.0:
        return text
    return f"{'+' if value > 0.0 else chr(0x2212)}{text}"


def code_at(corner: int, name: str, code: str) -> str:
    """
    Name a thing worth trying in a few words.

    Examples
    --------
    >>> code_at(4, "Long Barrow", "minimum_speed")
    'minimum speed at Long Barrow (4)'
    """
    return f"{CODE_NAMES[code]} {at_corner(corner, name)}"

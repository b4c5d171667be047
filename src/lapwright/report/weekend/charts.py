"""Charts of a weekend page: lap times of all sessions, and a corner's figures over them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lapwright.columns import records
from lapwright.report.html.figure import MAX_Y_TICKS, Tick, padded, ticks
from lapwright.report.numbers import clock_with_sd, with_sd
from lapwright.report.weekend.data import Field
from lapwright.report.weekend.session_facts import QUANTITIES, SessionFacts
from lapwright.units import Units, clock
from lapwright.wording.event import weekend as words
from lapwright.wording.flags import flag_list
from lapwright.wording.heads import PAGE, described, shown_in

# Laps slower than this are only named: so far above the slowest clean one, or the fastest where
# none is clean.
_ABOVE_CLEAN, _ABOVE_FASTEST = 1.003, 1.06
LAPS_PX, CORNER_PX = 220, 120
# Drivers are told apart by shape and colour; a fifth looks like the first.
SHAPES = 4
# An axis no narrower than this, in what is shown: below, nothing is to be seen in it.
_LEAST = {"m": 4.0, "m/s": 4.0, "s": 0.1}


@dataclass(frozen=True)
class Dot:
    """
    One value: place in shares of the width and in pixels, half its bar in pixels, its look.

    Attributes
    ----------
    share, y, bar : float
    shape : int
        Of its driver.
    role : str
        ``clean``, ``best`` or ``flagged``.
    text : str
    """

    share: float
    y: float
    bar: float
    shape: int
    role: str
    text: str

    @property
    def percent(self) -> str:
        """The place along the axis in percent."""
        return f"{100.0 * self.share:.2f}%"


@dataclass(frozen=True)
class Level:
    """A session's middle: from where to where it reaches, and its bar above and below."""

    start: float
    end: float
    y: float
    bar: float


@dataclass(frozen=True)
class Chart:
    """
    Values over the sessions of a field.

    Attributes
    ----------
    label : str
        What it shows, in words.
    axis : str
        Name and unit of the y axis.
    height : int
        [px]
    dots : tuple of Dot
    levels : tuple of Level
    joins : tuple of (float, float, float, float, int)
        Lines between the sessions of a driver: shares and pixels of both ends, the shape.
    parts : tuple of float
        Where one session ends and the next begins, as shares.
    x_ticks, y_ticks : tuple of Tick
    beyond : str
        Laps that are too slow to show.
    """

    label: str
    axis: str
    height: int
    dots: tuple[Dot, ...]
    levels: tuple[Level, ...]
    joins: tuple[tuple[float, float, float, float, int], ...]
    parts: tuple[float, ...]
    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    beyond: str = ""


def shape_of(part: Field, one: SessionFacts) -> int:
    """Shape of a session's driver."""
    return next(k % SHAPES for k, sessions in enumerate(part.drivers.values()) if one in sessions)


def lap_chart(part: Field) -> Chart | None:
    """
    Lap times of all sessions of a field, each session in a stretch of its own.

    Parameters
    ----------
    part : Field

    Returns
    -------
    Chart or None
        None where there is no timed lap.
    """
    times = np.concatenate([one.laps["time_s"].to_numpy(np.float64) for one in part.sessions])
    if not len(times):
        return None
    clean = np.concatenate([one.clean["time_s"].to_numpy(np.float64) for one in part.sessions])
    top = float(clean.max()) * _ABOVE_CLEAN if len(clean) else float(times.min()) * _ABOVE_FASTEST
    shown = times[times <= top]
    low, high = padded(float(shown.min()), float(shown.max()), 0.12, 0.4)
    scale = LAPS_PX / (high - low)
    dots: list[Dot] = []
    levels, beyond = [], []
    n = len(part.sessions)
    leader = part.bests[0] if part.bests else None
    for k, one in enumerate(part.sessions):
        slow = one.laps[one.laps["time_s"] > top]
        beyond += [f"lap {int(lap)} of {one.name}" for lap in slow["lap"]]
        dots += _lap_dots(one, (k / n, 1.0 / n), (high, scale), shape_of(part, one), one is leader)
        pace = one.pace
        if np.isfinite(pace.median_s):
            y = (high - pace.median_s) * scale
            levels.append(Level((k + 0.06) / n, (k + 0.94) / n, y, pace.median_sd_s * scale))
    labels = tuple(
        Tick(t.share, clock(low + t.share * (high - low), most=1))
        for t in ticks(low, high, MAX_Y_TICKS)
    )
    return Chart(
        "Lap times of all sessions; the table has the numbers", "lap time [min:s]", LAPS_PX,
        tuple(dots), tuple(levels), (), tuple(k / n for k in range(1, n)), _numbers(part.sessions),
        labels, f"Too slow to show: {', '.join(beyond)}." if beyond else "",
    )  # fmt: skip


def _lap_dots(
    one: SessionFacts, place: tuple[float, float], frame: tuple[float, float], shape: int,
    leads: bool,
) -> list[Dot]:  # fmt: skip
    (start, width), (high, scale) = place, frame
    rows = records(one.laps)
    dots = []
    for i, row in enumerate(rows):
        y = (high - row["time_s"]) * scale
        if y < 0.0:
            continue
        role = "clean" if row["representative"] else "flagged"
        role = "best" if leads and row["lap"] == one.best_lap else role
        said = flag_list(row["flags"])
        text = f"{words.lap_of(one.driver, int(row['lap']), one.name)}: "
        text += clock_with_sd(row["time_s"], row["time_sd_s"]) + (f" ({said})" if said else "")
        share = start + width * (0.1 + 0.8 * (i + 0.5) / len(rows))
        dots.append(Dot(share, y, row["time_sd_s"] * scale, shape, role, text))
    return dots


def corner_charts(part: Field, corner: int, title: str, units: Units) -> list[Chart]:
    """
    Typical values of a corner over the sessions of a field, with their bars.

    Parameters
    ----------
    part : Field
    corner : int
    title : str
        What the corner is called.
    units : Units

    Returns
    -------
    list of Chart
        One per quantity that any session has.
    """
    made = (_corner_chart(part, corner, name, title, units) for name in QUANTITIES)
    return [one for one in made if one is not None]


def _corner_chart(part: Field, corner: int, name: str, title: str, units: Units) -> Chart | None:
    column = described("passes")[name]
    unit, factor = shown_in(column.unit, units)
    n, found = len(part.sessions), []
    for k, one in enumerate(part.sessions):
        facts = one.corners.get(corner)
        if facts is not None and name in facts.typical:
            typical = facts.typical[name]
            found.append((k, one, typical.mean * factor, typical.sd * factor))
    if not found:
        return None
    low = min(value - sd for _, _, value, sd in found)
    high = max(value + sd for _, _, value, sd in found)
    low, high = padded(low, high, 0.12, _LEAST[column.unit])
    scale = CORNER_PX / (high - low)
    dots, last = [], dict[int, Dot]()
    joins = []
    for k, one, value, sd in found:
        shape = shape_of(part, one)
        text = f"{one.name}, {words.who(one.driver)}: {with_sd(value, sd, column.decimals)} {unit}"
        dot = Dot((k + 0.5) / n, (high - value) * scale, sd * scale, shape, "clean", text)
        if shape in last and part.comparable:
            joins.append((last[shape].share, last[shape].y, dot.share, dot.y, shape))
        last[shape] = dot
        dots.append(dot)
    head = PAGE["passes"][name]
    return Chart(
        f"{title}: {head} over the sessions", f"{head} [{unit}]", CORNER_PX, tuple(dots), (),
        tuple(joins), (), _numbers(part.sessions), ticks(low, high, MAX_Y_TICKS),
    )  # fmt: skip


def _numbers(sessions: Sequence[SessionFacts]) -> tuple[Tick, ...]:
    n = len(sessions)
    return tuple(Tick((k + 0.5) / n, str(one.number)) for k, one in enumerate(sessions))

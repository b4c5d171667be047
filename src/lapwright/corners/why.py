"""
Why one lap beats another: corner by corner the main cause, and what the driver did that shows it.

What the time is charged to comes from `lapwright.corners.causes`, what the driver did from both
laps' passes side by side.  The two are found apart from each other, so one can bear the other out;
where none does, no cause is made up: then only the place is known.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np
import numpy.typing as npt

from lapwright.columns import records
from lapwright.geometry import Corner
from lapwright.laps.comparison import Comparison
from lapwright.laps.stretches import FROM_LINE
from lapwright.units import EQUAL_SD, is_equal

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# What the driver does that each cause goes with, and its sign where time is lost by it: braking
# earlier, softer; slower; on the throttle later, out of the corner slower.
SIGNS: dict[str, dict[str, float]] = {
    "braking": {"brake_to_corner_m": 1.0, "peak_decel_mps2": -1.0},
    "minimum": {"min_speed_mps": -1.0},
    "exit": {"throttle_station_m": 1.0, "exit_speed_mps": -1.0},
    "straight": {},
}
# Where a wider line makes each part of a corner longer.
_WIDE_AT: dict[str, tuple[str, ...]] = {
    "braking": ("turn_in_offset_m",),
    "minimum": ("turn_in_offset_m", "apex_offset_m"),
    "exit": ("apex_offset_m", "exit_offset_m"),
    "straight": (),
}
# One lap braked where the other did not: 1 if it is the lap that braked, -1 if the reference.
ONLY_ONE_BRAKED = "only_one_braked"
# Less than this is shown as nothing. [s]
_LEAST_S = 0.0005
# Less than this in a braking zone is not worth a sentence. [s]
_MIN_CARRIED_S = 0.02


@dataclass(frozen=True, slots=True)
class Apart:
    """
    A difference between two laps, lap minus reference, in SI units.

    Attributes
    ----------
    name : str
        The column of the passes it is of.
    difference, sd : float
        NaN where one of the laps has no such thing.
    """

    name: str
    difference: float
    sd: float

    @property
    def known(self) -> bool:
        """Whether both laps have it, with an error bar."""
        return math.isfinite(self.difference) and math.isfinite(self.sd)

    @property
    def clear(self) -> bool:
        """Whether it stands clear of its error bar."""
        return self.known and not is_equal(self.difference, self.sd)

    def agrees(self, sign: float) -> bool:
        """Whether it clearly has a sign."""
        return self.clear and self.difference * sign > 0.0


@dataclass(frozen=True, slots=True)
class Carried:
    """
    Time that the clock shows in a braking zone, and that was lost before it.

    Attributes
    ----------
    shown_s, shown_sd_s : float
        What the ledger has there. [s]
    corner : int
        Where it comes from.
    cause : str
    """

    shown_s: float
    shown_sd_s: float
    corner: int
    cause: str


@dataclass(frozen=True, slots=True)
class Why:
    """
    What cost a lap time in one corner.

    Attributes
    ----------
    corner : int
        0 for what the lap began with at the line.
    lost_s, lost_sd_s : float
        Sum of the corner's causes; negative where gained. [s]
    cause : str
        The largest with the sum's sign that stands clear of its error bar; empty where the sum or
        all causes are too small to measure.
    cause_s, cause_sd_s : float
        Its share. [s]
    largest : bool
        Whether it is clearly larger than the corner's other causes.
    shown_by : tuple of Apart
        What the driver did differently that goes with it.
    against, same : tuple of Apart
        What goes clearly the other way, and what is too small to measure.
    wider : tuple of Apart
        Where nothing in `shown_by`: the line, where it makes the way longer (or shorter).
    carried : Carried or None
    """

    corner: int
    lost_s: float
    lost_sd_s: float
    cause: str = ""
    cause_s: float = 0.0
    cause_sd_s: float = 0.0
    largest: bool = False
    shown_by: tuple[Apart, ...] = ()
    against: tuple[Apart, ...] = ()
    same: tuple[Apart, ...] = ()
    wider: tuple[Apart, ...] = ()
    carried: Carried | None = None

    @property
    def clear(self) -> bool:
        """Whether the laps can be told apart here."""
        return abs(self.lost_s) > _LEAST_S and not is_equal(self.lost_s, self.lost_sd_s)


# A page asks for the same two laps in many places; kept no longer than the comparison itself.
_KNOWN: "WeakKeyDictionary[Comparison, tuple[Why, ...]]" = WeakKeyDictionary()


def why(comparison: Comparison) -> tuple[Why, ...]:
    """
    Say for every corner what cost the time.

    Parameters
    ----------
    comparison : Comparison

    Returns
    -------
    tuple of Why
        In the order of the lap, the first for what it began with at the line; together they are the
        difference of the lap times.  Empty on a circuit without corners.

    Examples
    --------
    >>> from lapwright.corners.why import why
    >>> comparison = session.compare(session.typical_lap)
    >>> all_s = sum(one.lost_s for one in why(comparison))
    >>> bool(abs(all_s - comparison.time_difference_s) < 1e-6)
    True
    """
    if comparison not in _KNOWN:
        _KNOWN[comparison] = _fresh_why(comparison)
    return _KNOWN[comparison]


def _fresh_why(comparison: Comparison) -> tuple[Why, ...]:
    corners = {one.order: one for one in comparison.track.corners}
    if not corners:
        return ()
    causes = _Causes.of(comparison)
    passes = {row["corner"]: row for row in records(comparison.passes)}
    out: list[Why] = []
    for number in (FROM_LINE, *corners):
        one = _charged(causes, number)
        if number != FROM_LINE:
            carried = _carried(comparison, causes, number, out[-1].corner)
            one = replace(_shown(one, passes[number], corners[number]), carried=carried)
        out.append(one)
    return tuple(out)


def apart(row: Mapping[Any, Any], name: str) -> Apart:
    """
    Read one difference from a row of the passes side by side.

    Examples
    --------
    >>> row = {"difference_min_speed_mps": -1.0, "difference_min_speed_sd_mps": 0.1}
    >>> apart(row, "min_speed_mps").clear
    True
    """
    value, sd = (
        float(row.get(f"difference_{column}", math.nan)) for column in (name, sd_name(name))
    )
    return Apart(name, value, sd)


def sd_name(name: str) -> str:
    """
    Name the error bar of a quantity in the passes side by side.

    Examples
    --------
    >>> sd_name("exit_speed_mps")
    'exit_speed_sd_mps'
    """
    quantity, unit = name.rsplit("_", 1)
    return f"{quantity}_sd_{unit}"


@dataclass(frozen=True, eq=False, slots=True)
class _Causes:
    """The table of causes as arrays, one entry a row."""

    corner: Ints
    cause: list[str]
    lost_s: list[float]
    lost_sd_s: list[float]
    cov_s2: Floats

    @classmethod
    def of(cls, comparison: Comparison) -> "_Causes":
        table = comparison.causes
        cause, lost_s, sd_s = (table[name].tolist() for name in ("cause", "lost_s", "lost_sd_s"))
        return cls(table["corner"].to_numpy(), cause, lost_s, sd_s, comparison.causes_cov_s2)

    def rows(self, corner: int) -> list[int]:
        """Rows of one corner."""
        return [int(k) for k in np.flatnonzero(self.corner == corner)]

    def sum(self, rows: Sequence[int], signs: Sequence[float]) -> tuple[float, float]:
        """A sum of causes and its error bar."""
        pick = np.zeros(len(self.lost_s))
        pick[list(rows)] = signs
        variance = float(pick @ self.cov_s2 @ pick)
        return float(pick @ np.array(self.lost_s)), math.sqrt(max(variance, 0.0))


def _charged(causes: _Causes, corner: int) -> Why:
    """The corner's sum and its main cause."""
    rows = causes.rows(corner)
    lost, sd = causes.sum(rows, [1.0] * len(rows))
    out = Why(corner, lost, sd)
    if not out.clear:
        return out
    alike = [k for k in rows if causes.lost_s[k] * lost > 0.0]
    alike.sort(key=lambda k: -abs(causes.lost_s[k]))
    for k in alike:
        part, part_sd = causes.lost_s[k], causes.lost_sd_s[k]
        if is_equal(part, part_sd):
            continue
        others = [causes.sum([k, other], [1.0, -1.0]) for other in alike if other != k]
        clearly = all(value * lost > 0.0 and not is_equal(value, bar) for value, bar in others)
        return Why(corner, lost, sd, causes.cause[k], part, part_sd, clearly)
    return out


def _shown(one: Why, row: Mapping[Any, Any], corner: Corner) -> Why:
    """The same with what the driver did that goes with the cause, or against it."""
    if not one.cause or not apart(row, "min_speed_mps").known:
        return one
    sign = math.copysign(1.0, one.cause_s)
    found = [(apart(row, name), sign * way) for name, way in SIGNS[one.cause].items()]
    if one.cause == "braking":
        found.append((_only_one_braked(row), sign))
    shown = tuple(a for a, way in found if a.agrees(way))
    # Left is positive and the inside of a left-hand corner: wider is the other way.
    outward = -sign if corner.direction == "left" else sign
    lines = [apart(row, name) for name in _WIDE_AT[one.cause]]
    return replace(
        one,
        shown_by=shown,
        against=tuple(a for a, way in found if a.agrees(-way)),
        same=tuple(a for a, _ in found if a.name in SIGNS[one.cause] and a.known and not a.clear),
        wider=() if shown else tuple(a for a in lines if a.agrees(outward)),
    )


def _only_one_braked(row: Mapping[Any, Any]) -> Apart:
    braked = [math.isfinite(row[f"{lap}brake_to_corner_m"]) for lap in ("", "reference_")]
    return Apart(ONLY_ONE_BRAKED, float(braked[0]) - float(braked[1]), 0.0)


def _carried(comparison: Comparison, causes: _Causes, corner: int, before: int) -> Carried | None:
    """
    Where the time comes from that the clock shows in a braking zone, if most is not from there.

    A slow exit costs along the whole straight and into the braking zone behind it.
    """
    ledger = comparison.ledger
    here = ledger["corner"].to_numpy() == corner
    here &= np.array([one == "braking" for one in ledger["stretch"].tolist()], dtype=bool)
    pick = here.astype(np.float64)
    shown = float(pick @ ledger["difference_s"].to_numpy())
    sd = math.sqrt(max(float(pick @ comparison.ledger_cov_s2 @ pick), 0.0))
    if is_equal(shown, sd) or abs(shown) < _MIN_CARRIED_S:
        return None
    own = [causes.lost_s[k] for k in causes.rows(corner) if causes.cause[k] == "braking"]
    rows = [k for k in causes.rows(before) if causes.cause[k] != "braking"]
    brought, brought_sd = causes.sum(rows, [1.0] * len(rows))
    least = 0.5 * abs(shown)
    sign = math.copysign(1.0, shown)
    if sum(own) * sign > least or brought * sign < max(least, EQUAL_SD * brought_sd):
        return None
    k = max(rows, key=lambda k: causes.lost_s[k] * sign)
    return Carried(shown, sd, before, causes.cause[k])

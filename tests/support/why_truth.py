"""
Why a lap lost time, worked out from the tables of a comparison, and sentences held against it.

Nothing in here goes through the way from a table to a sentence.
"""

import math
import re
from dataclasses import dataclass

import numpy as np
from session_truth import EQUAL_SD, factor, ledger_sum
from shown import True_, pair, wrong

from lapwright.laps.comparison import Comparison

# Words of each difference: the quantity, its kind of unit, its most decimals, and the sign of
# (lap minus reference) that each word stands for.
PHRASES = {
    r"\bon ([\d.]+) \S+ (earlier|later)": (
        "brake_to_corner_m", "far", 0, {"earlier": 1, "later": -1}),
    r"([\d.]+) g (harder|softer)": ("peak_decel_mps2", "g", 2, {"harder": 1, "softer": -1}),
    r"minimum speed ([\d.]+) \S+ (higher|lower)": (
        "min_speed_mps", "speed", 1, {"higher": 1, "lower": -1}),
    r"throttle ([\d.]+) \S+ (later|earlier)": (
        "throttle_station_m", "far", 0, {"later": 1, "earlier": -1}),
    r"exit speed ([\d.]+) \S+ (higher|lower)": (
        "exit_speed_mps", "speed", 1, {"higher": 1, "lower": -1}),
    r"the line ([\d.]+) \S+ (?:wider|narrower) (at the apex)": ("apex_offset_m", "far", 1, {}),
    r"the line ([\d.]+) \S+ (?:wider|narrower) (at turn-in)": ("turn_in_offset_m", "far", 1, {}),
    r"the line ([\d.]+) \S+ (?:wider|narrower) (at the exit)": ("exit_offset_m", "far", 1, {}),
}  # fmt: skip
SAME = {
    "on at the same place": "brake_to_corner_m", "as hard": "peak_decel_mps2",
    "the same minimum speed": "min_speed_mps", "throttle at the same place": "throttle_station_m",
    "the same exit speed": "exit_speed_mps",
}  # fmt: skip
PLACES = {
    "braking": "on the brakes", "minimum": "around the slowest point",
    "exit": "from the slowest point to the exit", "straight": "on the straight after it",
}  # fmt: skip


@dataclass(frozen=True)
class Reason:
    """The sum of a corner's causes with its sd, and the one that stands out."""

    lost_s: float
    sd_s: float
    cause: str

    @property
    def clear(self) -> bool:
        """Whether there is anything to tell; what a page would round to nothing is nothing."""
        return abs(self.lost_s) > 0.0005 and abs(self.lost_s) >= EQUAL_SD * self.sd_s


def reason(c: Comparison, corner: int) -> Reason:
    """What cost the lap its time in a corner."""
    rows = np.flatnonzero(c.causes["corner"] == corner)
    part = c.causes.iloc[rows]
    lost = float(part["lost_s"].sum())
    sd = math.sqrt(max(float(c.causes_cov_s2[np.ix_(rows, rows)].sum()), 0.0))
    whole = Reason(lost, sd, "")
    clear = part[
        (part["lost_s"] * lost > 0) & (part["lost_s"].abs() >= EQUAL_SD * part["lost_sd_s"])
    ]
    if not whole.clear or clear.empty:
        return whole
    return Reason(lost, sd, str(clear.loc[clear["lost_s"].abs().idxmax(), "cause"]))


def reasons(c: Comparison) -> dict[int, Reason]:
    """The same of every corner, and of the beginning of the lap."""
    return {k: reason(c, k) for k in (0, *(one.order for one in c.track.corners))}


def apart(c: Comparison, corner: int, name: str) -> tuple[float, float]:
    """How far two laps are apart in a quantity, and the error bar."""
    row = c.passes[c.passes["corner"] == corner].iloc[0]
    stem, unit = name.rsplit("_", 1)
    return float(row[f"difference_{name}"]), float(row[f"difference_{stem}_sd_{unit}"])


def time_wrong(text: str, one: Reason) -> list[str]:
    """Say what is wrong with the time and the place of a sentence about a corner."""
    if not one.clear:
        return [] if "too close" in text else [f"{text}: too close it should be"]
    found = re.search(r"(?:(lost|gained) )?([\d.]+ ± <?[\d.]+) s(?: (lost|gained)\b)?", text)
    if found is None:
        return [f"{text}: no time"]
    said = [wrong(found[2], pair(abs(one.lost_s), one.sd_s))]
    word = "lost" if one.lost_s > 0.0 else "gained"
    said += [] if (found[1] or found[3]) == word else [f"it was {word}"]
    named = [cause for cause, place in PLACES.items() if f"{place}" in text]
    said += [] if named == ([one.cause] if one.cause else []) else [f"{named}, not {one.cause}"]
    return [f"{text}: {what}" for what in said if what]


def evidence_wrong(text: str, c: Comparison, corner: int, units: str) -> list[str]:
    """Say what is wrong with what a sentence says the driver did."""
    out = []
    for pattern, (name, kind, most, signs) in PHRASES.items():
        for size, word, bar in re.findall(pattern + r" \(± (<?[\d.]+)\)", text):
            value, sd = (v * factor(kind, units) for v in apart(c, corner, name))
            if abs(value) < EQUAL_SD * sd or value * signs.get(word, value) < 0.0:
                out.append(f"{text}: {name} was {value} ± {sd}")
            out.append(wrong(f"{size} ± {bar}", pair(abs(value), sd, most)))
    for words, name in SAME.items():
        if words in text:
            value, sd = apart(c, corner, name)
            out += [] if abs(value) < EQUAL_SD * sd or value == 0.0 else [f"{text}: {value} ± {sd}"]
    for shown in re.findall(r"Most of the ([\d.]+ ± <?[\d.]+) s that the clock", text):
        value, sd = ledger_sum(c, corner, "braking")
        out.append(wrong(shown, pair(abs(value), sd)))
    return [one for one in out if one]


def numbers_of_evidence(text: str, c: Comparison, corner: int, units: str) -> list[True_]:
    """The numbers of what a sentence says the driver did, in their order."""
    found = []
    for pattern, (name, kind, most, _) in PHRASES.items():
        for hit in re.finditer(pattern + r" \(± <?[\d.]+\)", text):
            value, sd = (v * factor(kind, units) for v in apart(c, corner, name))
            # An error bar that would round to nothing is said to be less than the last digit.
            bar = sd if round(sd, most) > 0.0 else 10.0**-most
            numbers = [True_(abs(value), sd, most), True_(bar, sd, most)]
            found.append((hit.start(), numbers))
    return [one for _, numbers in sorted(found, key=lambda f: f[0]) for one in numbers]


CELLS = {
    "braking before corner": ("brake_to_corner_m", "far", 0),
    "peak braking": ("peak_decel_mps2", "g", 2),
    "minimum speed": ("min_speed_mps", "speed", 1),
    "slowest past apex": ("min_speed_station_m", "far", 0),
    "throttle past apex": ("throttle_station_m", "far", 0),
    "exit speed": ("exit_speed_mps", "speed", 1),
    "line at turn-in, + left": ("turn_in_offset_m", "far", 1),
    "line at apex, + left": ("apex_offset_m", "far", 1),
    "line at exit, + left": ("exit_offset_m", "far", 1),
}
PAST = ("min_speed_station_m", "throttle_station_m")


def beside_true(c: Comparison, corner: int, head: str, units: str) -> list[tuple[float, float]]:
    """What a column says of the lap, of the other and of their difference: value and error bar."""
    name, kind, _ = CELLS[head]
    row = c.passes[c.passes["corner"] == corner].iloc[0]
    apex = next(one.apex_m for one in c.track.corners if one.order == corner)
    stem, unit = name.rsplit("_", 1)
    out = []
    for lap in ("", "reference_", "difference_"):
        zero = apex if name in PAST and lap != "difference_" else 0.0
        value, sd = float(row[f"{lap}{name}"]) - zero, float(row[f"{lap}{stem}_sd_{unit}"])
        out.append((value * factor(kind, units), sd * factor(kind, units)))
    return out

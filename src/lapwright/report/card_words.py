"""What a corner's card says in words."""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.laps.stretches import STRETCHES
from lapwright.report.headline import corner_sums, stretch_difference
from lapwright.report.numbers import signed_with_sd, with_sd
from lapwright.report.report_data import ReportData
from lapwright.units import EQUAL_SD, is_equal
from lapwright.wording.worth_trying import lap_list

Flags = npt.NDArray[np.bool_]
# Of fewer clean laps nothing is said that is about all of them.
_FEW = 3
# Stretch, difference in words, difference and its sd. [s]
Part = tuple[str, str, float, float]


def corner_parts(material: ReportData, corner: int) -> tuple[Part, ...]:
    """Difference of the usual lap to the best by stretch of one corner."""
    out = []
    for stretch in STRETCHES:
        found = stretch_difference(material, corner, stretch)
        if found is not None:
            out.append((stretch, signed_with_sd(*found), *found))
    return tuple(out)


def corner_words(material: ReportData, corner: int, passes: pd.DataFrame) -> tuple[str, ...]:
    """
    Say what the numbers of one corner come to.

    Parameters
    ----------
    material : ReportData
    corner : int
    passes : DataFrame
        Of this corner.

    Returns
    -------
    tuple of str
        Sentences.
    """
    out = []
    usual = f"the {material.usual_word} lap"
    for number, value, sd in corner_sums(material):
        if number != corner:
            continue
        if is_equal(value, sd):
            out.append(f"T{usual[1:]} and the best are too close here to tell apart.")
            continue
        word = "lost" if value > 0.0 else "gained"
        parts = corner_parts(material, corner)
        out.append(
            f"From braking to the end of the straight after it, {usual} {word} "
            f"{with_sd(abs(value), sd)} s {'to' if value > 0.0 else 'on'} the best, "
            f"{spread_words(value, parts, _apart_sd(material, corner, value, parts))}."
        )
    clean = passes[passes["lap"].isin(material.clean["lap"])]
    if len(clean) >= _FEW:
        ordered = clean.sort_values("time_s")
        low, high = (float(ordered["time_s"].iloc[k]) for k in (0, -1))
        first, last = (int(ordered["lap"].iloc[k]) for k in (0, -1))
        out.append(
            f"From entry to exit, clean laps took {low:.2f} s (lap {first}) to {high:.2f} s (lap "
            f"{last})."
        )
    return (*out, *flat_words(clean), *_unbraked_words(clean))


def _unbraked_words(clean: pd.DataFrame) -> tuple[str, ...]:
    """Whether most laps do without the brakes; who slows only for the next corner may not."""
    slowed = clean["min_speed_mps"].notna()
    unbraked = slowed & clean["brake_station_m"].isna()
    if len(clean) >= _FEW and unbraked.mean() > 0.5:
        return ("Taken without braking on most laps.",)
    return ()


def flat_words(clean: pd.DataFrame) -> tuple[str, ...]:
    """
    Say on which laps the car did not slow for a corner, and what either way took.

    Parameters
    ----------
    clean : DataFrame
        Clean passes of one corner.

    Returns
    -------
    tuple of str
        Nothing where the car slowed on every lap.  It is what happened, never something to try.
    """
    flat = clean["flat"].to_numpy(dtype=bool)
    if not flat.any():
        return ()
    if flat.all():
        return ("No lift here on any clean lap.",)
    lifted = ~flat & clean["min_speed_mps"].notna().to_numpy()
    without, with_lift = clean[flat], clean[lifted]
    said = f"No lift on {_laps(without)} ({_time_through(without, clean, flat)}"
    if not lifted.any():
        return (f"{said} from entry to exit).",)
    others = "the others" if (flat | lifted).all() else _laps(with_lift)
    return (f"{said} from entry to exit); lifted on {others} "
            f"({_time_through(with_lift, clean, flat)}).",)  # fmt: skip


def _laps(passes: pd.DataFrame) -> str:
    laps = tuple(int(n) for n in passes["lap"])
    return f"{'lap' if len(laps) == 1 else 'laps'} {lap_list(laps)}"


def _time_through(passes: pd.DataFrame, clean: pd.DataFrame, flat: Flags) -> str:
    """Mean time of some laps with its error bar: their scatter and the receiver's."""
    times = passes["time_s"].to_numpy(dtype=np.float64)
    parts = [clean["time_s"].to_numpy(dtype=np.float64)[side] for side in (flat, ~flat)]
    # From lap to lap within the two ways: of two laps alone there is no scatter to be had.
    dof = sum(len(part) - 1 for part in parts)
    scatter = sum(float(((part - part.mean()) ** 2).sum()) for part in parts) / max(dof, 1)
    receiver = float(np.mean(passes["time_sd_s"].to_numpy(dtype=np.float64) ** 2))
    return f"{with_sd(float(times.mean()), max(scatter, receiver) ** 0.5 / len(times) ** 0.5)} s"


def spread_words(value: float, parts: Sequence[Part], apart_sd_s: float) -> str:
    """
    Say on which stretch a corner's time went, no more sharply than the numbers allow.

    Parameters
    ----------
    value : float
        Sum over the corner, not nothing. [s]
    parts : sequence of Part
    apart_sd_s : float
        Of the difference between the largest part and the next. [s]

    Returns
    -------
    str

    Examples
    --------
    >>> spread_words(0.1, [("entry", "+0.08", 0.08, 0.01), ("exit", "+0.02", 0.02, 0.01)], 0.01)
    'most of it on the entry (+0.08 s)'
    """
    sign = math.copysign(1.0, value)
    # Parts that went the other way are won back elsewhere: no shares of a loss.
    alike = _by_size(value, parts)
    first = alike[0]
    named = f"on the {first[0]} ({first[1]} s)"
    if sign * first[2] > abs(value) + EQUAL_SD * first[3]:
        back = "won back" if value > 0.0 else "lost again"
        return f"more than that {named}, and some {back} elsewhere"
    if first[2] / sum(part[2] for part in alike) > 0.5:
        return f"most of it {named}"
    if abs(first[2] - alike[1][2]) > EQUAL_SD * apart_sd_s:
        return f"the largest part {named}"
    clear = [part for part in alike if not is_equal(part[2], part[3])]
    shown = [f"{part[0]} ({part[1]} s)" for part in (clear if len(clear) > 1 else alike)]
    return f"spread over {', '.join(shown[:-1])} and {shown[-1]}"


def _by_size(value: float, parts: Sequence[Part]) -> list[Part]:
    """Parts with the sign of their sum, the largest first."""
    return sorted((p for p in parts if p[2] * value > 0.0), key=lambda p: -abs(p[2]))


def _apart_sd(material: ReportData, corner: int, value: float, parts: Sequence[Part]) -> float:
    """Of the difference between the two largest parts of a corner. [s]."""
    alike, c = _by_size(value, parts), material.comparison
    if len(alike) < 2 or c is None:
        return 0.0
    here = (c.ledger["corner"] == corner).to_numpy()
    pick = np.zeros(len(c.ledger))
    for sign, part in ((1.0, alike[0]), (-1.0, alike[1])):
        pick[here & (c.ledger["stretch"] == part[0]).to_numpy()] = sign
    return math.sqrt(max(float(pick @ c.ledger_cov_s2 @ pick), 0.0))

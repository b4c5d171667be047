"""What a corner's card says in words."""

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd

from lapwright.laps.stretches import STRETCHES
from lapwright.report.headline import corner_sums, stretch_difference
from lapwright.report.numbers import signed_with_sd, with_sd
from lapwright.report.report_data import ReportData
from lapwright.units import EQUAL_SD, is_equal
from lapwright.wording.driver import driver_words

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
    if len(clean) >= 3:
        ordered = clean.sort_values("time_s")
        low, high = (float(ordered["time_s"].iloc[k]) for k in (0, -1))
        first, last = (int(ordered["lap"].iloc[k]) for k in (0, -1))
        out.append(
            f"From entry to exit, clean laps took {low:.2f} s (lap {first}) to {high:.2f} s (lap "
            f"{last})."
        )
        if clean["brake_station_m"].isna().mean() > 0.5:
            out.append("Taken without braking on most laps.")
    clean_laps = [int(n) for n in material.clean["lap"]]
    out += driver_words(material.driver, material.coasting, corner, clean_laps, material.best)
    return tuple(out)


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

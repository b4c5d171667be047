"""What a corner's card says in words."""

import pandas as pd

from lapwright.corners.why import Why
from lapwright.laps.stretches import STRETCHES
from lapwright.report.headline import reasons, stretch_difference
from lapwright.report.numbers import signed_with_sd, with_sd
from lapwright.report.report_data import ReportData
from lapwright.units import Units
from lapwright.wording.driver import driver_words
from lapwright.wording.why import carried_words, corner_names, why_words

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


def corner_words(
    material: ReportData, corner: int, passes: pd.DataFrame, units: Units
) -> tuple[str, ...]:
    """
    Say what the numbers of one corner come to.

    Parameters
    ----------
    material : ReportData
    corner : int
    passes : DataFrame
        Of this corner.
    units : Units

    Returns
    -------
    tuple of str
        Sentences.
    """
    out = [_why(material, one, units) for one in reasons(material) if one.corner == corner]
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


def _why(material: ReportData, one: Why, units: Units) -> str:
    """Say what the usual lap lost to the best, and what by."""
    usual = f"The {material.usual_word} lap"
    assert material.comparison is not None
    carried = carried_words(one.carried, corner_names(material.comparison.track))
    if not one.clear:
        return f"{usual} and the best are too close here to tell apart.{carried}"
    lost = one.lost_s > 0.0
    return (
        f"{usual} {'lost' if lost else 'gained'} {with_sd(abs(one.lost_s), one.lost_sd_s)} s "
        f"{'to' if lost else 'on'} the best here{why_words(one, units)}.{carried}"
    )

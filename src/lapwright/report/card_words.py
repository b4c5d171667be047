"""What a corner's card says in words."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.corners.why import Why
from lapwright.laps.stretches import STRETCHES
from lapwright.report.headline import reasons, stretch_difference
from lapwright.report.numbers import signed_with_sd, with_sd
from lapwright.report.report_data import ReportData
from lapwright.units import Units
from lapwright.wording.coaching.worth_trying import lap_list
from lapwright.wording.driver import driver_words
from lapwright.wording.why import carried_words, corner_names, why_words

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
    if len(clean) >= _FEW:
        ordered = clean.sort_values("time_s")
        low, high = (float(ordered["time_s"].iloc[k]) for k in (0, -1))
        first, last = (int(ordered["lap"].iloc[k]) for k in (0, -1))
        out.append(
            f"From entry to exit, clean laps took {low:.2f} s (lap {first}) to {high:.2f} s (lap "
            f"{last})."
        )
    clean_laps = [int(n) for n in material.clean["lap"]]
    out += driver_words(material.driver, material.coasting, corner, clean_laps, material.best)
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

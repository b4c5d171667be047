"""The session in five points, and how sure the numbers are, as sentences."""

import math

import numpy as np
import numpy.typing as npt

from lapwright.coaching.conditions import changing
from lapwright.coaching.habit_search import MIN_LAPS
from lapwright.columns import records
from lapwright.corners.why import Why, why
from lapwright.laps.comparison import Comparison
from lapwright.laps.findings.receiver_noise import ReceiverNoise
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.plots.drawing.display_units import speed_in
from lapwright.report.numbers import (
    clock_with_sd,
    distance,
    plain,
    with_sd,
)
from lapwright.report.report_data import MIN_USUAL, ReportData
from lapwright.report.two_laps import TwoLaps
from lapwright.units import EQUAL_SD, Units, clock, error_bar
from lapwright.wording.flags import flag_list
from lapwright.wording.seconds import seconds_with_spread
from lapwright.wording.terms import at_corner, corner_in_text, ledger_title
from lapwright.wording.why import cause_words

Flags = npt.NDArray[np.bool_]


def five_lines(material: ReportData, units: Units) -> list[str]:
    """
    Sum a session up.

    Parameters
    ----------
    material : ReportData
    units : Units

    Returns
    -------
    list of str
        Up to five sentences.
    """
    lines = [_laps(material, units)]
    if material.best is None:
        return [*lines, "No lap counts as a best lap, so there is nothing to compare."]
    return [
        *lines,
        _best(material),
        _pace(material),
        _where(material, units),
        _top(material, units),
    ]


def _laps(material: ReportData, units: Units) -> str:
    timed, clean = int((material.laps["kind"] == "timed").sum()), len(material.clean)
    where = material.track.name or "an unnamed circuit"
    long = f"{distance(material.length_m, units)} along the line driven"
    text = f"{_count(timed, 'timed lap')} of {where} ({long})"
    text += f", {clean} of them clean"
    odd = material.laps[(material.laps["kind"] == "timed") & ~material.laps["representative"]]
    if len(odd):
        said = "; ".join(
            f"lap {row['lap']}: {flag_list(row['flags']) or 'off the pace'}"
            for row in records(odd)[:4]
        )
        text += f" ({said}{'; ...' if len(odd) > 4 else ''})"
    return text + "."


def _best(material: ReportData) -> str:
    assert material.best is not None
    row = material.lap(material.best)
    text = (
        f"Best: lap {material.best}, "
        f"{clock_with_sd(float(row['time_s']), float(row['time_sd_s']))} s"
    )
    laps = material.laps
    level = laps[
        (laps["lap"] != material.best)
        & laps["representative"]
        & (laps["gap_s"].abs() < EQUAL_SD * laps["gap_sd_s"])
    ]["lap"]
    if len(level):
        which = ", ".join(str(n) for n in level)
        text += f"; too close to call: lap {which}"
    # The best sectors of a single lap are that lap.
    more = len(material.clean) > 1
    if material.theoretical_best is not None and more and len(material.track.sectors):
        total, sd = material.theoretical_best
        text += f". Best sectors added up: {clock_with_sd(total, sd)} s, a lap nobody drove"
    return text + "."


def _pace(material: ReportData) -> str:
    times = material.clean["time_s"].to_numpy(dtype=np.float64)
    if len(times) < MIN_USUAL:
        return f"{_count(len(times), 'clean lap')}: too few to speak of a typical pace."
    spread = float(times.max() - times.min())
    return (
        f"Median clean lap {clock(float(np.median(times)), most=2)}, spread (sd) "
        f"{error_bar(float(times.std(ddof=1)), most=2)} s; all of them lie within {spread:.2f} s "
        f"of each other. The best of {len(times)} laps is always partly luck, so judge by the "
        "typical lap."
    )


def _where(material: ReportData, units: Units) -> str:
    if material.comparison is None:
        return "There is no second clean lap to compare the best one with."
    c = material.comparison
    total = with_sd(c.time_difference_s, c.time_difference_sd_s)
    found = {one.corner: one for one in reasons(material)}
    said = "; and ".join(_lost_at(material, found[n], units) for n in most_lost(material))
    lap = f"{'A typical' if material.usual_word == 'typical' else 'The other'} lap (lap {c.lap})"
    text = f"{lap} was {total} s slower than the best"
    return f"{text}; between these two, most was lost {said}." if said else f"{text}."


def _lost_at(material: ReportData, one: Why, units: Units) -> str:
    lost = with_sd(one.lost_s, one.lost_sd_s)
    # Where the line stands for no corner, its name says all there is to say.
    cause = f", {cause_words(one, units)}" if one.corner else ""
    return f"{_at(material, one.corner)}, {lost} s{cause}"


def reasons(material: TwoLaps) -> tuple[Why, ...]:
    """What cost the usual lap its time to the best, by corner; empty where there are none."""
    return () if material.comparison is None else why(material.comparison)


def most_lost(material: TwoLaps) -> list[int]:
    """Corners where the usual lap lost the most to the best: two at most, the worst first."""
    worst = sorted(reasons(material), key=lambda one: -one.lost_s)[:2]
    return [one.corner for one in worst if one.clear and one.lost_s > 0.0]


def only_between_two(material: ReportData) -> tuple[str, tuple[int, ...]]:
    """
    Say why corners that the summary names are not among the things worth trying.

    Parameters
    ----------
    material : ReportData

    Returns
    -------
    text : str
        Empty where every corner named has a thing worth trying.
    corners : tuple of int
        The corners it is about.
    """
    tried = {item.corner for item in material.worth_trying}
    corners = tuple(n for n in most_lost(material) if n and n not in tried)
    if not corners:
        return "", ()
    names = " and ".join(said_corner(material, n) for n in corners)
    also = "also " if tried else ""
    laps = int(material.spans["lap"].nunique())
    why = "Over all clean laps no habit could be shown there"
    if laps < MIN_LAPS:
        why = f"There were too few clean laps ({laps}) to test for a habit"
    elif changing(material.notes.conditions):
        why = "Laps in changing conditions are not tested for a habit"
    return (
        f"Point 4 above {also}names {names}: that is one lap against another. {why}, so there is "
        "no advice there.",
        corners,
    )


def _top(material: ReportData, units: Units) -> str:
    # Of all laps, out and in laps too: as fast the car was, whether the lap counts or not.
    laps = material.laps
    row = laps.iloc[int(np.nanargmax(laps["top_speed_mps"].to_numpy(dtype=np.float64)))]
    top = float(speed_in(float(row["top_speed_mps"]), units.speed))
    kind = {"out": " (the out lap)", "in": " (the in lap)"}.get(str(row["kind"]), "")
    return (
        f"Top speed {top:.0f} {units.speed} on lap {row['lap']}{kind}, "
        f"{distance(float(row['top_speed_station_m']), units)} after the start line."
    )


def corner_sums(material: TwoLaps) -> list[tuple[int, float, float]]:
    """Difference of the usual lap to the best by corner: number, sum of its stretches, its sd."""
    c = material.comparison
    if c is None:
        return []
    of = c.ledger["corner"].to_numpy()
    return [(int(n), *_ledger_sum(c, of == n)) for n in dict.fromkeys(of.tolist())]


def _ledger_sum(comparison: Comparison, rows: Flags) -> tuple[float, float]:
    """A sum of some rows of the ledger and its error bar. [s]."""
    pick = rows.astype(np.float64)
    sd = math.sqrt(max(float(pick @ comparison.ledger_cov_s2 @ pick), 0.0))
    return float(pick @ comparison.ledger["difference_s"].to_numpy()), sd


def stretch_difference(material: TwoLaps, corner: int, stretch: str) -> tuple[float, float] | None:
    """
    Sum up one stretch of one corner: difference of the usual lap to the best and its sd.

    The straight that holds the line is two rows of the ledger, but one stretch to the driver.

    Parameters
    ----------
    material : TwoLaps
    corner : int
    stretch : str

    Returns
    -------
    (float, float) or None
        None where there is nothing to compare, or no such stretch of any length. [s]
    """
    c = material.comparison
    if c is None:
        return None
    rows = c.ledger["corner"].to_numpy() == corner
    rows &= np.array([one == stretch for one in c.ledger["stretch"].tolist()], dtype=bool)
    start_m, end_m = (c.ledger[name].to_numpy()[rows] for name in ("start_m", "end_m"))
    return _ledger_sum(c, rows) if (end_m - start_m).sum() > 0.0 else None


def corner_name(material: TwoLaps, corner: int) -> str:
    """Number and name of a corner."""
    rows = material.corners[material.corners["corner"] == corner]
    if material.corners.empty:
        return "the lap"
    return ledger_title(corner, "" if rows.empty else str(rows.iloc[0]["name"]))


def said_corner(material: TwoLaps, corner: int) -> str:
    """Name and number of a corner as a sentence has them."""
    rows = material.corners[material.corners["corner"] == corner]
    return "the lap" if rows.empty else corner_in_text(corner, str(rows.iloc[0]["name"]))


def _at(material: ReportData, corner: int) -> str:
    if material.corners.empty:
        return "on the lap"
    rows = material.corners[material.corners["corner"] == corner]
    return at_corner(corner, "" if rows.empty else str(rows.iloc[0]["name"]))


def how_sure(material: ReportData, units: Units) -> list[str]:
    """Say how sure the numbers are, and what that rests on."""
    noise, out = material.noise, []
    timed = material.laps[(material.laps["kind"] == "timed") & material.laps["time_s"].notna()]
    if len(timed):
        sd = float(timed["time_sd_s"].median())
        out.append(
            f"A lap time is good to about ± {sd:.3f} s. As everywhere here, two times in three the "
            "truth lies within the ± (one standard deviation, sd)."
        )
    gaps = timed.loc[timed["lap"] != material.best, "gap_sd_s"].dropna()
    if len(gaps):
        out.append(
            f"Two laps closer than about {EQUAL_SD * float(gaps.median()):.3f} s are called equal: "
            "this log cannot separate them."
        )
    out.append(_noise_sentence(noise, units))
    if noise.repeat_line:
        out.append(
            "The line you repeat lap after lap was used to correct the receiver's drift. A change "
            "of line in one corner stays visible; an error shared by all laps is not removed."
        )
    if noise.sources:
        out.append("The noise was estimated from: " + ", ".join(noise.sources) + ".")
    if "brake_source" in material.passes and len(material.passes):
        out.append(_source_sentence(material))
    return out


def _noise_sentence(noise: ReceiverNoise, units: Units) -> str:
    text = (
        f"The log's positions scatter by {distance(noise.position_sd_m, units, 2)} from fix to fix "
        f"and drift by {distance(noise.drift_sd_m, units, 2)} over about {noise.drift_tau_s:.0f} s"
    )
    speed = noise.speed_sd_mps
    if speed is None:
        return text + "; it has no speed of its own, so speed comes from the positions."
    value = float(speed_in(speed, units.speed))
    return text + f"; its speed scatters by {plain(value, 2)} {units.speed}."


def _source_sentence(material: ReportData) -> str:
    said = {"channel": "the driver's pedals, as logged", "motion": "how the car moved, not a pedal"}
    brake, throttle = (
        "channel" if set(material.passes[name]) == {"channel"} else "motion"
        for name in ("brake_source", "throttle_source")
    )
    if brake == throttle:
        return f"Braking and throttle points come from {said[brake]}."
    return f"Braking points come from {said[brake]}; throttle points from {said[throttle]}."


def worth(item: WorthTrying) -> str:
    """Say how much time a thing worth trying is about."""
    # Its sd holds what laps differ by, so no plus-minus sign: that is the receiver's alone.
    return f"Worth about {seconds_with_spread(item.time_at_stake_s, item.time_at_stake_sd_s)}."


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"

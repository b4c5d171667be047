"""The numbers that a report's sentences should hold, in their order."""

import numpy as np
from session_truth import EQUAL_SD, Truth, factor
from shown import True_, exact, pair
from why_truth import numbers_of_evidence, reason, reasons

Numbers = list["True_ | str"]


def five_lines(truth: Truth, units: str, said: str) -> list[Numbers]:
    """Numbers of the session's five lines, or of two where no lap counts; of what they say."""
    lines = [_laps(truth, units)]
    if truth.best is None:
        return [*lines, []]
    return [*lines, _best(truth), _pace(truth), _where(truth, units, said), _top(truth, units)]


def _laps(truth: Truth, units: str) -> Numbers:
    laps = truth.laps
    odd = [n for n in laps.index if laps.at[n, "kind"] == "timed" and n not in truth.clean]
    timed = int((laps["kind"] == "timed").sum())
    length = True_(truth.session.track.length_m * factor("far", units))
    return [exact(timed), length, exact(len(truth.clean)), *(exact(n) for n in odd[:4])]


def _best(truth: Truth) -> Numbers:
    assert truth.best is not None
    row, gaps = truth.laps.loc[truth.best], truth.gaps
    level = [
        n for n in truth.clean
        if n != truth.best and abs(gaps.at[n, "gap_s"]) < EQUAL_SD * gaps.at[n, "gap_sd_s"]
    ]  # fmt: skip
    out: Numbers = [exact(truth.best), pair(row["time_s"], row["time_sd_s"])]
    out += [exact(n) for n in level]
    known = truth.session.theoretical_best
    if known is not None and len(truth.clean) > 1 and len(truth.session.track.sectors):
        out.append(pair(*known))
    return out


def _pace(truth: Truth) -> Numbers:
    times = truth.laps.loc[truth.clean, "time_s"].to_numpy(dtype=np.float64)
    if len(times) < 3:
        return [exact(len(times))]
    spread = float(np.std(times, ddof=1))
    return [
        True_(float(np.median(times)), most=2),
        True_(spread, spread, 2),
        True_(float(times.max() - times.min()), most=2),
        exact(len(times)),
    ]


def most_lost(truth: Truth) -> list[int]:
    """Corners in which the usual lap clearly lost the most, two at most."""
    if truth.comparison is None:
        return []
    if truth.corners.empty:
        return []
    found = reasons(truth.comparison)
    worst = sorted(found, key=lambda n: -found[n].lost_s)[:2]
    return [n for n in worst if found[n].clear and found[n].lost_s > 0.0]


def _where(truth: Truth, units: str, text: str) -> Numbers:
    c = truth.comparison
    if c is None:
        return []
    assert truth.usual is not None
    out: Numbers = [exact(truth.usual), pair(c.time_difference_s, c.time_difference_sd_s)]
    parts = text.partition("most was lost ")[2].split("; and ")
    for corner, said in zip(most_lost(truth), parts, strict=False):
        found = reason(c, corner)
        out += [f"corner:{corner}", pair(found.lost_s, found.sd_s)]
        out += numbers_of_evidence(said, c, corner, units) if corner else []
    return out


def _top(truth: Truth, units: str) -> Numbers:
    lap = int(truth.laps["top_speed_mps"].idxmax())
    row = truth.laps.loc[lap]
    return [
        True_(row["top_speed_mps"] * factor("speed", units)), exact(lap),
        True_(row["top_speed_station_m"] * factor("far", units)),
    ]  # fmt: skip


def how_sure(truth: Truth, units: str) -> Numbers:
    """Numbers of the sentences on how sure all is, one after the other."""
    laps, noise = truth.laps, truth.session.noise
    out: Numbers = []
    if truth.timed:
        out.append(True_(float(laps.loc[truth.timed, "time_sd_s"].median()), most=3))
    gaps = truth.gaps.loc[[n for n in truth.timed if n != truth.best], "gap_sd_s"].dropna()
    if len(gaps):
        out.append(True_(EQUAL_SD * float(gaps.median()), most=3))
    far = factor("far", units)
    out += [True_(getattr(noise, f"{k}_sd_m") * far, most=2) for k in ("position", "drift")]
    out.append(True_(noise.drift_tau_s))
    if noise.speed_sd_mps is not None:
        out.append(True_(noise.speed_sd_mps * factor("speed", units), most=2))
    return out


def corner_facts(truth: Truth, corner: int, units: str) -> Numbers:
    """Radius and place of a corner."""
    row, far = truth.corners.loc[corner], factor("far", units)
    return [True_(row["radius_m"] * far), True_(row["apex_m"] * far)]


def clean_range(truth: Truth, corner: int) -> Numbers:
    """Times of the quickest and the slowest clean run through a corner, with their laps."""
    there = [n for n in truth.clean if n in truth.laps_through(corner)]
    if len(there) < 3:
        return []
    times = {n: float(truth.passes[n, corner]["time_s"]) for n in there}
    ends = (min(times, key=times.__getitem__), max(times, key=times.__getitem__))
    return [v for n in ends for v in (True_(times[n], most=2), exact(n))]

"""
Whether a lightly damaged log still tells the truth: its laps beside those of the undamaged log.

A lap *keeps its time* where the same lap (its start at the same moment, within two of its error
bars and half a second) differs by at most two standard deviations of both error bars together.
It is *set aside* where it does not, no counting lap says otherwise, and a finding with line
numbers stands within its lines.  Everything else is a lie, and so is a counting lap that the
undamaged log does not have, and another top speed without such a finding.
"""

from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pandas as pd

from damage.good_logs import GoodLog, good_log
from damage.light import Lines, damaged
from lapwright import read_log
from lapwright.errors import LapwrightError
from lapwright.ingest.log import Log
from lapwright.session import Session

_SDS = 2.0
_SAME_START_S = 0.5
# What a top speed differs by for another choice of fixes alone, at one fix a second.
_TOP_MPS = 1.5


@dataclass
class Verdict:
    """What became of the laps of one log, and the lies in words."""

    laps: int = 0
    within_two: int = 0
    within_one: int = 0
    aside: int = 0
    speeds: int = 0
    refused: str = ""
    lies: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Told:
    """What a log tells: its laps on a time axis that no damage moves, and its findings."""

    laps: pd.DataFrame
    log: Log
    codes: frozenset[str]


def told(good: GoodLog, lines: Lines | tuple[bytes, ...]) -> Told:
    """Read a log and cut it into laps."""
    with TemporaryDirectory() as folder:
        log = read_log(good.write(Path(folder), lines))
        session = Session(log, good.track, cache=None)
        laps = session.laps
    columns = ["kind", "start_s", "end_s", "time_s", "time_sd_s", "representative", "flags"]
    laps = laps[[*columns, "top_speed_mps"]].copy()
    laps[["start_s", "end_s"]] += log.first_fix_s
    return Told(laps, log, frozenset(finding.code for finding in session.findings))


@cache
def truth(kind: str) -> Told:
    """What the undamaged log tells."""
    good = good_log(kind)
    return told(good, good.lines)


def judge(kind: str, damage: str, seed: int) -> Verdict:
    """Damage one log and hold what it tells against what it told before."""
    good, lines = damaged(kind, damage, seed)
    whole = truth(kind)
    laps = whole.laps[whole.laps["time_s"].notna()]
    verdict = Verdict(laps=len(laps))
    try:
        now = told(good, lines)
    except LapwrightError as error:
        verdict.refused = str(error)
        return verdict
    except Exception as error:
        verdict.lies.append(f"ended with {type(error).__name__}: {error}")
        return verdict
    _hold(laps, whole, now, verdict)
    return verdict


def _hold(laps: pd.DataFrame, whole: Told, now: Told, verdict: Verdict) -> None:
    timed = now.laps[now.laps["time_s"].notna()]
    taken = set()
    for lap in laps.itertuples():
        partner = _partner(lap, timed)
        if partner is not None:
            taken.add(partner.Index)
            off, sd = abs(partner.time_s - lap.time_s), np.hypot(lap.time_sd_s, partner.time_sd_s)
            if off <= _SDS * sd:
                verdict.within_two += 1
                verdict.within_one += bool(off <= sd)
                _judge_speed(lap, partner, whole, now, verdict)
                continue
        _judge_other(lap, partner, whole, now, verdict)
    counting = timed[timed["representative"]]
    for lap in counting[~counting.index.isin(taken)].itertuples():
        verdict.lies.append(
            f"nobody drove the lap of {lap.time_s:.3f} s "
            f"from {lap.start_s - whole.log.first_fix_s:.1f} s"
        )


def _partner(lap, timed: pd.DataFrame):
    """The lap that begins at the same moment."""
    apart = (timed["start_s"] - lap.start_s).abs().to_numpy()
    if len(apart) == 0 or apart.min() > _SAME_START_S + _SDS * lap.time_sd_s:
        return None
    return next(timed.iloc[[int(np.argmin(apart))]].itertuples())


def _judge_other(lap, partner, whole: Told, now: Told, verdict: Verdict) -> None:
    """A lap that did not keep its time: set aside and said, or a lie."""
    what = "is not there" if partner is None else f"is {partner.time_s:.3f} s {partner.flags}"
    said = f"{lap.kind} lap of {lap.time_s:.3f} s {what}"
    counts = partner is not None and partner.representative
    if counts:
        verdict.lies.append(f"{said} and counts (sd {partner.time_sd_s:.3f} s)")
    elif not _named(lap, whole, now):
        verdict.lies.append(f"{said}, without a finding in its lines")
    else:
        verdict.aside += 1


def _judge_speed(lap, partner, whole: Told, now: Told, verdict: Verdict) -> None:
    """A lap that keeps its time and counts has its top speed too, or a finding says why not."""
    off = abs(partner.top_speed_mps - lap.top_speed_mps)
    if partner.representative and off > _TOP_MPS:
        verdict.speeds += 1
        if not _named(lap, whole, now):
            verdict.lies.append(
                f"top speed of {lap.top_speed_mps:.1f} m/s is {partner.top_speed_mps:.1f}"
            )


def _named(lap, whole: Told, now: Told) -> bool:
    """Whether a finding that the undamaged log does not have stands within the lap's lines."""
    fixes = now.log.fixes
    time_s = fixes["time_s"].to_numpy() + now.log.first_fix_s
    inside = fixes["line"].to_numpy()[(time_s >= lap.start_s - 2.0) & (time_s <= lap.end_s + 2.0)]
    before = {(f.code, f.lines) for f in whole.log.findings}
    new = [f for f in now.log.findings if f.lines and (f.code, f.lines) not in before]
    spans = [span for finding in new for span in finding.lines]
    if not len(inside):
        return bool(spans)
    low, high = int(inside.min()) - 2, int(inside.max()) + 2
    return any(a <= high and b >= low for a, b in spans)

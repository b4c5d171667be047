"""What is worth trying must not hang on where a circuit's corners are said to begin and end."""

from dataclasses import replace

import numpy as np
import pytest
from worlds import make_world

from lapwright import simulate as sim
from lapwright.coaching.evidence import gather_evidence
from lapwright.coaching.worth_trying import judge
from lapwright.corners.pass_details import with_details
from lapwright.corners.pass_table import corner_passes, with_error_bars
from lapwright.geometry import Track
from lapwright.session import Session

_MOVED_M = 14.0
_HABITS = (sim.BrakeEarly(1), sim.SlowMinimum(4), sim.LateThrottle(10))


def moved(track: Track, seed: int) -> Track:
    """Every corner's ends elsewhere, the apex between them still."""
    rng = np.random.default_rng(seed)
    corners = []
    for c in track.corners:
        begin, end = rng.uniform(-_MOVED_M, _MOVED_M, 2)
        entry, exit_ = min(c.entry_m + begin, c.apex_m - 1.0), max(c.exit_m + end, c.apex_m + 1.0)
        corners.append(replace(c, entry_m=entry, exit_m=exit_))
    return replace(track, corners=tuple(corners))


def said(session: Session, track: Track) -> dict[tuple[int, str], float]:
    """Corner, code and time at stake of what is worth trying, with a track's corners."""
    traces = {n: session.trace(n) for n in session.timed_laps}
    passes = corner_passes(track, list(traces.values()), None, None)
    passes = with_error_bars(track, session.motion, passes)
    passes = with_details(track, session.motion, traces, session.clean_laps, passes)
    evidence = gather_evidence(track, session.motion, session.laps, passes, traces)
    found = judge(evidence, track.corners)
    return {(item.corner, item.code): item.time_at_stake_s for item in found.items}


@pytest.mark.parametrize(("habits", "seed"), [(_HABITS, 20000), ((), 21000)])
def test_the_same_is_said_of_corners_that_begin_and_end_elsewhere(
    tmp_path_factory: pytest.TempPathFactory, habits: "tuple[sim.BrakeEarly, ...]", seed: int
) -> None:
    session = make_world(
        tmp_path_factory.mktemp("moved"), sim.Plan((12,)), driver=sim.Driver(habits=habits),
        seed=seed,
    ).session  # fmt: skip
    there = said(session, session.track)
    assert len(there) == len(habits)
    for k in range(4):
        again = said(session, moved(session.track, k))
        assert again == pytest.approx(there, abs=0.005)

"""A session without a clean lap: its tables have no rows, but all their columns."""

import numpy as np
import pandas as pd
import pytest
from worlds import World

from lapwright.coaching.evidence import Evidence, gather_evidence
from lapwright.corners.grip import grip_use
from lapwright.corners.incidents import corners_with_incidents
from lapwright.corners.pass_details import with_details
from lapwright.corners.pass_table import corner_passes, with_error_bars


def alike(empty: pd.DataFrame, full: pd.DataFrame) -> None:
    """The same columns of the same kinds."""
    assert len(empty) == 0 < len(full)
    assert list(empty.columns) == list(full.columns)
    for name in full.columns:
        numbers = [pd.api.types.is_numeric_dtype(t[name]) for t in (empty, full)]
        assert numbers[0] == numbers[1], name
        if numbers[0]:
            assert empty[name].dtype == full[name].dtype, name


@pytest.fixture(scope="module")
def none(world: World) -> Evidence:
    session = world.session
    laps = session.laps.assign(representative=False)
    return gather_evidence(session.track, session.motion, laps, session.bare_passes, {})


def test_passes(world: World) -> None:
    session = world.session
    empty = corner_passes(session.track, [], None, None)
    alike(empty[list(session.bare_passes.columns)], session.bare_passes)
    sure = with_error_bars(session.track, session.motion, empty)
    alike(with_details(session.track, session.motion, {}, [], sure), session.passes)


def test_evidence(world: World, none: Evidence) -> None:
    full = world.session.evidence
    alike(none.passes, full.passes)
    # Where passes would be timed is still known, from the circuit alone.
    assert list(none.spans["corner"]) == list(full.spans["corner"])
    assert {k: c.shape for k, c in none.covs_s2.items()} == dict.fromkeys(full.covs_s2, (0, 0))


def test_grip_use(world: World) -> None:
    session = world.session
    empty = grip_use([], session.passes, session.corners)
    alike(empty.passes, session.grip.passes)
    alike(empty.corners, session.grip.corners)


def test_corners_in_trouble_are_found_all_the_same(world: World, none: Evidence) -> None:
    track = world.session.track
    there = np.array([track.corners[3].apex_m])
    assert track.corners[3].order in corners_with_incidents(
        track.corners, none.spans, there, track.length_m
    )

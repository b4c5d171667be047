"""A lap cut into corners' parts."""

from types import SimpleNamespace

import numpy as np
import pytest
from worlds import World

from lapwright.coaching.car_change.corner_parts import corner_parts, part_ends_m


def test_the_parts_of_a_lap_add_up_to_its_time(world: World) -> None:
    parts = corner_parts(world.session)
    assert parts is not None
    assert list(parts.index) == world.session.clean_laps
    assert list(parts) == [corner.order for corner in world.session.track.corners]
    times = world.session.laps.set_index("lap").loc[parts.index, "time_s"]
    # The delta is pinned to the lap times to 1e-6 s.
    assert parts.sum(axis=1).to_numpy() == pytest.approx(times.to_numpy(), abs=1e-6)


def test_each_part_holds_its_corner_and_no_other(world: World) -> None:
    ends = part_ends_m(world.session.track)
    assert ends is not None
    assert np.all(np.diff(ends) > 0.0)
    for corner, begin, end in zip(world.session.track.corners, ends[:-1], ends[1:], strict=True):
        assert begin < corner.apex_m < end
        assert begin <= max(corner.entry_m, 0.0)


def test_a_track_without_path_or_with_one_corner_has_no_parts(world: World) -> None:
    corner = world.session.track.corners[0]
    bare = SimpleNamespace(path=None, corners=(corner, corner), length_m=1.0)
    oval = SimpleNamespace(path=object(), corners=(corner,), length_m=1.0)
    for track in (bare, oval):
        assert part_ends_m(track) is None  # type: ignore[arg-type]
        assert corner_parts(SimpleNamespace(track=track)) is None  # type: ignore[arg-type]

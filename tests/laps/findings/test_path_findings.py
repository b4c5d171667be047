"""A path that is not where the car went is named, and where; a usual line of its own is not."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright.geometry import ReferencePath
from lapwright.ingest import Finding
from lapwright.laps.findings.path_findings import path_findings
from lapwright.laps.track_mapping import map_positions
from lapwright.session import Session

RADIUS_M = 200.0
LENGTH_M = 2.0 * np.pi * RADIUS_M
ANGLE = np.linspace(0.0, 2.0 * np.pi, 240, endpoint=False)
CIRCLE = ReferencePath(RADIUS_M * np.cos(ANGLE), RADIUS_M * np.sin(ANGLE), 0.0)


def found(
    aside_m,
    laps: float = 4.0,
    *,
    from_rad: float = 0.0,
    step_s: float = 0.2,
    speed_mps: float = 30.0,
) -> tuple[Finding, ...]:
    """Drive round, beside the circle by a function of the angle."""
    time = np.arange(0.0, laps * LENGTH_M / speed_mps, step_s)
    turned = from_rad + time * speed_mps / RADIUS_M
    radius = RADIUS_M + aside_m(np.mod(turned, 2.0 * np.pi))
    position = np.stack([radius * np.cos(turned), radius * np.sin(turned)], axis=-1)
    followed = map_positions(CIRCLE, time, position, None)
    return path_findings(followed, np.full(len(time), speed_mps), CIRCLE.length_m)


def stretch(finding: Finding) -> tuple[int, int]:
    """From where to where, as said."""
    start, end = finding.message.split(" path from ")[1].split(" m ")[0].split(" to ")
    return int(start), int(end)


def bump(first: float, last: float, far_m: float):
    def aside(angle):
        x = np.clip((np.mod(angle - first, 2.0 * np.pi)) / (last - first), 0.0, 1.0)
        return far_m * np.sin(np.pi * x)

    return aside


def test_a_usual_line_within_the_road_is_fine() -> None:
    assert found(bump(1.0, 2.0, 9.0)) == ()


@pytest.mark.parametrize("far_m", [40.0, -40.0])
def test_another_layout_is_named(far_m: float) -> None:
    # 40 sin(pi x) exceeds 20 m for x from 1/6 to 5/6 of 200 m: 233 to 367 m after the line.
    (finding,) = found(bump(1.0, 2.0, far_m))
    assert finding.code == "path_differs"
    assert finding.count == 1
    start, end = stretch(finding)
    assert start == pytest.approx(233, abs=21)
    assert end == pytest.approx(367, abs=21)
    assert "up to 40 m off" in finding.message or "up to 39 m off" in finding.message


def test_a_stretch_over_the_line_is_one() -> None:
    (finding,) = found(bump(-0.5, 0.5, 40.0), from_rad=1.0)
    assert finding.count == 1
    start, end = stretch(finding)
    assert start > 1000
    assert end < 200


def test_the_whole_lap_elsewhere() -> None:
    (finding,) = found(lambda angle: np.full(len(angle), -100.0))
    assert stretch(finding) == (0, pytest.approx(LENGTH_M, abs=1.0))


def test_laps_through_a_pit_lane_are_no_other_layout() -> None:
    # Three of four laps go through a lane 40 m beside, one stays on the track.
    def aside(turned):
        return np.where(np.arange(len(turned)) // 209 != 1, bump(1.0, 2.0, -40.0)(turned), 0.0)

    assert found(aside) == ()


def test_one_fix_a_second_is_enough() -> None:
    (finding,) = found(bump(1.0, 2.0, 40.0), step_s=1.0, speed_mps=60.0)
    assert finding.count == 1


def test_one_off_among_laps_is_no_other_layout() -> None:
    def aside(turned):
        return np.where(np.arange(len(turned)) < 209, bump(1.0, 2.0, 40.0)(turned), 0.0)

    assert found(aside) == ()


def test_two_laps_do_not_show_where_the_road_is() -> None:
    assert found(bump(1.0, 2.0, 40.0), laps=2.0) == ()


def test_a_session_says_so(world) -> None:
    # The same circuit, its path cut short by a chord where there are corners.
    whole = world.session.shared_track
    path = whole.path
    keep = np.ones(len(path.east_m), dtype=bool)
    keep[int(0.4 * len(keep)) : int(0.55 * len(keep))] = False
    cut = ReferencePath(path.east_m[keep], path.north_m[keep], path.start_m)
    damaged = replace(whole, path=cut, corners=(), sectors=())
    said = [
        f
        for f in Session(world.log, damaged, repeat_line=False).findings
        if f.code == "path_differs"
    ]
    assert len(said) == 1
    assert "wrong points in the path" in said[0].message
    fine = Session(world.log, whole, repeat_line=False).findings
    assert [f for f in fine if f.code == "path_differs"] == []

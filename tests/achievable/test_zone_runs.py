"""Braking and acceleration as means over zones, from laps made by hand."""

import numpy as np
import pytest

from lapwright.achievable.own_drive import OwnDrive
from lapwright.achievable.usual_line import UsualLine
from lapwright.achievable.zone_runs import braking_runs, drive_runs
from lapwright.achievable.zones import Zones

STEP_M = 2.0
BRAKING, PUSH, DRAG = 8.0, 4.0, 6e-4


def laps(*early_m: float) -> UsualLine:
    """From 40 m/s down to 15 and back, along one straight; each lap brakes so much early."""
    rows = []
    for early in early_m:
        square = [1600.0]
        while len(square) < 500:
            at = STEP_M * len(square)
            now = square[-1]
            if at < 200.0 - early:
                now = 1600.0
            elif at < 400.0:
                now = max(now - 2 * STEP_M * (BRAKING + DRAG * now), 225.0)
            else:
                now = min(now + 2 * STEP_M * (PUSH - DRAG * now), 1600.0)
            square.append(now)
        rows.append(np.sqrt(square))
    speed = np.array(rows)
    along = np.gradient(speed**2, STEP_M, axis=1) / 2.0
    step = np.full(speed.shape, STEP_M)
    count = speed.shape[1]
    return UsualLine(
        np.arange(len(rows)), np.arange(count) * STEP_M, step[0], np.zeros(count), step / speed,
        step, speed, along, 0.0 * speed,
    )  # fmt: skip


ZONES = Zones(np.array([190]), np.array([90]), np.array([188]), np.array([4]))


def test_braking_early_and_rolling_is_not_braking_gently() -> None:
    found = braking_runs(laps(0.0, 12.0), ZONES, np.array([9.0]), DRAG)
    assert found[:, 0] == pytest.approx([BRAKING, BRAKING], rel=0.02)


def test_drag_is_not_braking() -> None:
    without = braking_runs(laps(0.0), ZONES, np.array([9.0]), 0.0)
    assert without[0, 0] > BRAKING * 1.03


def test_acceleration_is_a_share_of_the_cars_own() -> None:
    zones = Zones(np.array([190]), np.array([-60]), np.array([188]), np.array([4]))
    own = OwnDrive(PUSH, 1e6, DRAG)
    assert drive_runs(laps(0.0), zones, np.array([9.0]), own)[0, 0] == pytest.approx(1.0, rel=0.02)
    stronger = OwnDrive(1.25 * PUSH, 1e6, DRAG)
    assert drive_runs(laps(0.0), zones, np.array([9.0]), stronger)[0, 0] == pytest.approx(
        0.8, rel=0.02
    )


def test_no_zone_no_number() -> None:
    short = Zones(np.array([92]), np.array([90]), np.array([91]), np.array([1]))
    assert np.isnan(braking_runs(laps(0.0), short, np.array([9.0]), DRAG)).all()

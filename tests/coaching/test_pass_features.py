"""What the driver did on a run, on sessions made by hand; no corner's end is asked."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from steady_sessions import CORNERS, Steady

from lapwright.coaching.evidence import Evidence, gather_evidence
from lapwright.laps.lap_trace import LapTrace


def gathered(session: Steady, passes: "pd.DataFrame | None" = None) -> Evidence:
    return gather_evidence(
        session.track, session.motion, session.laps,
        session.bare_passes if passes is None else passes, session.traces,
    )  # fmt: skip


def of_corner(evidence: Evidence, corner: int) -> pd.DataFrame:
    return evidence.passes.iloc[evidence.of(corner)].set_index("lap")


def bend(lap: int, t: LapTrace) -> LapTrace:
    """Six for a fifth of the corner about its apex, else two; eight to the right beyond it."""
    s = t.station_m
    force = np.where(np.abs(s - 1450.0) < 10.0, 6.0, 2.0)
    return replace(t, accel_lat_mps2=np.where((s > 1520.0) & (s < 1600.0), -8.0, force))


def test_the_force_held_is_the_mean_of_the_highest_quarter_towards_the_inside() -> None:
    # Of the 90 m about the slowest point a quarter is 22.5 m: 45 samples of 2 m, of which 11
    # count, 9 of them at 6 and 2 at 2 m/s2 (those at 10 m exactly are outside).
    table = of_corner(gathered(Steady(3, edit=bend)), 2)
    np.testing.assert_allclose(table["held_mps2"], (9 * 6.0 + 2 * 2.0) / 11, atol=0.01)

    def mirrored(lap: int, t: LapTrace) -> LapTrace:
        return replace(t, accel_lat_mps2=-bend(lap, t).accel_lat_mps2)

    right = tuple(replace(c, direction="right") for c in CORNERS)
    held = of_corner(gathered(Steady(3, edit=mirrored, corners=right)), 2)["held_mps2"]
    np.testing.assert_allclose(held, table["held_mps2"])
    # In a left corner a force to the right is none: next to nothing.
    np.testing.assert_allclose(of_corner(gathered(Steady(3, edit=mirrored)), 2)["held_mps2"], 0.1)


def braked(*brakings: tuple[float, float, float]) -> Steady:
    """Slowing from one station to another by so much, at 2 m/s2 as logged."""

    def edit(lap: int, t: LapTrace) -> LapTrace:
        s, speed, accel = t.station_m, t.speed_mps.copy(), np.zeros(len(t.station_m))
        for from_m, to_m, by in brakings:
            accel[(s >= from_m) & (s < to_m)] = -2.0
            speed -= np.interp(s, [from_m, to_m], [0.0, by])
        return replace(t, speed_mps=speed, accel_long_mps2=accel)

    return Steady(3, edit=edit)


def test_the_main_braking_is_the_one_that_takes_most_speed() -> None:
    # A lift of 1 m/s for a kink at 1200 m, and 6 m/s from 1350 m on; the logged point is 1340 m.
    session = braked((1200.0, 1220.0, 1.0), (1350.0, 1400.0, 6.0))
    np.testing.assert_allclose(of_corner(gathered(session), 2)["braking_m"], 1340.0)
    # Logged at the kink: then the main braking's own beginning.
    kink = session.bare_passes
    kink.loc[kink["corner"] == 2, "brake_station_m"] = 1202.0
    np.testing.assert_allclose(of_corner(gathered(session, kink), 2)["braking_m"], 1350.0)
    # 11 m apart is the same braking, 13 m is not.
    for off, expected in ((11.0, 1339.0), (13.0, 1350.0)):
        near = session.bare_passes
        near.loc[near["corner"] == 2, "brake_station_m"] = 1350.0 - off
        np.testing.assert_allclose(of_corner(gathered(session, near), 2)["braking_m"], expected)


def test_without_braking_there_is_no_braking_point() -> None:
    assert of_corner(gathered(Steady(3)), 2)["braking_m"].isna().all()


def test_the_middle_of_a_corner_is_90_m_about_its_usual_slowest_point() -> None:
    # At 20 m/s.
    np.testing.assert_allclose(of_corner(gathered(Steady(3)), 2)["middle_s"], 4.5)
    # Corner 1 slowest at 1390 m, 60 m before: half-way on that side.
    near = Steady(3, values={(1, "min_speed_station_m"): [1390.0] * 3})
    np.testing.assert_allclose(of_corner(gathered(near), 2)["middle_s"], (30.0 + 45.0) / 20.0)
    # And 10 m at least on either side.
    close = Steady(3, values={(1, "min_speed_station_m"): [1440.0] * 3})
    np.testing.assert_allclose(of_corner(gathered(close), 2)["middle_s"], (10.0 + 45.0) / 20.0)


@pytest.mark.parametrize("direction", ["left", "right"])
def test_the_car_leaves_where_it_usually_turns_less_than_three_tenths(direction: str) -> None:
    # The bend goes from 5 m/s2 at 1450 m to nothing at 1550 m, on lap 3 at 1650 m: 30 % are left at
    # 1520 m, and at 1590 m. The line runs to the left by 1 m in 100 m.
    sign = 1.0 if direction == "left" else -1.0

    def edit(lap: int, t: LapTrace) -> LapTrace:
        end = 1650.0 if lap == 3 else 1550.0
        force = np.interp(t.station_m, [1300.0, 1350.0, 1450.0, end], [0.0, 5.0, 5.0, 0.0])
        return replace(t, accel_lat_mps2=sign * force, offset_m=0.01 * t.station_m)

    corners = tuple(replace(c, direction=direction) for c in CORNERS)
    session = Steady(5, edit=edit, corners=corners)
    # One sample is 2 m.
    leaving = of_corner(gathered(session), 2)["leaving_offset_m"]
    np.testing.assert_allclose(leaving, 15.2, atol=0.03)

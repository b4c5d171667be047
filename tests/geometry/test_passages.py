"""Crossings of a gate by motions whose crossing times are known in closed form."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lapwright.geometry import Gate, crossings, passages

GATE = Gate(left_m=(0.0, 6.0), right_m=(0.0, -6.0))  # crossed by driving east


class Moving:
    """A motion given by functions of time: position and velocity, each (k,) -> (k, 2)."""

    def __init__(self, fix_time_s, position, velocity) -> None:
        self.fix_time_s = np.asarray(fix_time_s, dtype=float)
        self.position, self.velocity = position, velocity

    def at(self, time_s):
        return SimpleNamespace(position_m=self.position(time_s), velocity_mps=self.velocity(time_s))


def along_east(times, position, velocity, north=0.0):
    """A motion along the east axis, beside the middle of the gate by some metres."""

    def where(t):
        return np.stack([position(np.asarray(t)), np.full(np.shape(t), north)], axis=1)

    def how_fast(t):
        return np.stack([velocity(np.asarray(t)), np.zeros(np.shape(t))], axis=1)

    return Moving(times, where, how_fast)


def test_a_circle_of_100_m_at_20_mps() -> None:
    # Closed form: one lap takes 2 pi R/v = 31.4159265 s.
    v, r = 20.0, 100.0
    rate = v / r
    motion = Moving(
        np.arange(0.0, 200.0, 1.0),
        lambda t: r * np.stack([np.sin(rate * t - 1.0), -np.cos(rate * t - 1.0)], axis=1),
        lambda t: v * np.stack([np.cos(rate * t - 1.0), np.sin(rate * t - 1.0)], axis=1),
    )
    found = crossings(Gate((0.0, -95.0), (0.0, -107.0)), motion)
    expected = 1.0 / rate + np.arange(7) * 31.41592653589793
    assert found["time_s"].to_numpy() == pytest.approx(expected, abs=1e-9)
    assert found["forward"].all()
    # The gate's middle is 101 m from the centre, the car 100 m: 1 m to the left of it.
    assert found["offset_m"].to_numpy() == pytest.approx(1.0)
    assert found["speed_mps"].to_numpy() == pytest.approx(20.0)
    assert found["normal_speed_mps"].to_numpy() == pytest.approx(20.0)
    assert np.diff(found["driven_m"]) == pytest.approx(2.0 * np.pi * r)


@given(
    accel=st.floats(-10.0, 5.0),
    speed=st.floats(20.0, 70.0),
    ahead=st.floats(1.0, 19.0),
    rate=st.sampled_from([1.0, 5.0, 25.0]),
)
@settings(max_examples=80, deadline=None)
def test_a_crossing_under_acceleration(accel, speed, ahead, rate) -> None:
    # x = -d + v t + a t^2/2 = 0 at t = 2d/(v + sqrt(v^2 + 2 a d)).
    motion = along_east(
        np.arange(0.0, 1.0 + 1e-9, 1.0 / rate),
        lambda t: -ahead + speed * t + accel * t**2 / 2.0,
        lambda t: speed + accel * t,
    )
    expected = 2.0 * ahead / (speed + np.sqrt(speed**2 + 2.0 * accel * ahead))
    found = crossings(GATE, motion)
    if expected < 1.0 - 1e-9:
        assert found["time_s"].to_numpy() == pytest.approx([expected], abs=1e-9)
        assert found["forward"].all()


def test_both_directions_and_only_within_the_ends() -> None:
    # East and west over the line every pi seconds, at 20 m amplitude.
    def drive(north):
        return along_east(
            np.arange(0.0, 20.0, 0.1),
            lambda t: 20.0 * np.sin(t - 0.5),
            lambda t: 20.0 * np.cos(t - 0.5),
            north,
        )

    found = crossings(GATE, drive(2.0))
    assert found["time_s"].to_numpy() == pytest.approx(0.5 + np.pi * np.arange(7), abs=1e-9)
    assert found["forward"].tolist() == [True, False] * 3 + [True]
    assert found["offset_m"].to_numpy() == pytest.approx(2.0)
    assert crossings(GATE, drive(6.5)).empty
    assert len(crossings(GATE, drive(6.5), slack_m=1.0)) == 7
    assert crossings(GATE, drive(-7.5), slack_m=1.0).empty


@pytest.mark.parametrize("overshoot", [1e-3, 0.02, 0.3])
def test_two_crossings_between_two_fixes(overshoot: float) -> None:
    # A car rolls over the line by some centimetres and back between fixes a second apart:
    # x = o - (t - 0.55)^2, zero at 0.55 -+ sqrt(o).
    motion = along_east(
        [-2.0, -1.0, 0.0, 1.0, 2.0, 3.0],
        lambda t: overshoot - (t - 0.55) ** 2,
        lambda t: -2.0 * (t - 0.55),
    )
    found = crossings(GATE, motion)
    expected = [0.55 - np.sqrt(overshoot), 0.55 + np.sqrt(overshoot)]
    assert found["time_s"].to_numpy() == pytest.approx(expected, abs=1e-9)
    assert found["forward"].tolist() == [True, False]


def test_three_crossings_between_two_fixes() -> None:
    # x = (t - 0.2)(t - 0.5)(t - 0.8) crosses forwards, backwards, forwards.
    roots = [0.2, 0.5, 0.8]
    cubic = np.polynomial.Polynomial.fromroots(roots)
    motion = along_east([-1.0, 0.0, 1.0, 2.0], cubic, cubic.deriv())
    found = crossings(GATE, motion)
    assert found["time_s"].to_numpy() == pytest.approx(roots, abs=1e-9)
    assert found["forward"].tolist() == [True, False, True]


def test_a_crossing_exactly_at_a_fix_is_found_once() -> None:
    motion = along_east(np.arange(-3.0, 4.0), lambda t: 10.0 * t, lambda t: 10.0 + 0 * t)
    assert crossings(GATE, motion)["time_s"].tolist() == [0.0]
    back = along_east(np.arange(-3.0, 4.0), lambda t: -10.0 * t, lambda t: -10.0 + 0 * t)
    found = crossings(GATE, back)
    assert found["time_s"].to_numpy() == pytest.approx([0.0], abs=1e-9)
    assert found["forward"].tolist() == [False]


def test_a_crossing_inside_a_gap_of_a_minute() -> None:
    times = np.concatenate([np.arange(0.0, 5.0), np.arange(65.0, 70.0)])
    motion = along_east(times, lambda t: 2.0 * t - 71.4, lambda t: 2.0 + 0.0 * t)
    assert crossings(GATE, motion)["time_s"].to_numpy() == pytest.approx([35.7], abs=1e-9)


def test_the_states_at_the_fixes_may_be_given() -> None:
    motion = along_east(np.arange(-3.0, 4.0, 0.3), lambda t: 10.0 * t, lambda t: 10.0 + 0.0 * t)
    given = crossings(GATE, motion, at_fixes=motion.at(motion.fix_time_s))
    pd.testing.assert_frame_equal(given, crossings(GATE, motion))


def test_a_crossing_at_a_standstill_at_the_end_of_the_log() -> None:
    # x = -(1 - t)^3 comes to rest on the line at t = 1, where the motion ends and may not be
    # asked for more.
    class Strict(Moving):
        def at(self, time_s):
            assert np.all((time_s >= 0.0) & (time_s <= 1.0))
            return super().at(time_s)

    still = along_east([0.0, 0.5, 1.0], lambda t: (t - 1.0) ** 3, lambda t: 3.0 * (t - 1.0) ** 2)
    motion = Strict(still.fix_time_s, still.position, still.velocity)
    found = crossings(GATE, motion)
    # A triple root: where it lies is as uncertain as the cube root of rounding.
    assert found["time_s"].to_numpy() == pytest.approx([1.0], abs=1e-5)
    assert found["forward"].tolist() == [True]


def test_no_crossing_gives_an_empty_table() -> None:
    motion = along_east([0.0, 1.0], lambda t: 500.0 + t, lambda t: 1.0 + 0.0 * t)
    found = crossings(GATE, motion)
    assert found.empty
    assert list(found.columns) == [
        "time_s",
        "forward",
        "offset_m",
        "speed_mps",
        "normal_speed_mps",
        "driven_m",
    ]
    assert passages(found).empty


def table(*crossed: tuple[float, bool, float]) -> pd.DataFrame:
    """Crossings: time, forwards, metres driven."""
    return pd.DataFrame(crossed, columns=["time_s", "forward", "driven_m"])


@pytest.mark.parametrize(
    ("crossed", "counted"),
    [
        # Plain laps of 2 km.
        ([(10, True, 200), (100, True, 2200), (190, True, 4200)], [10, 100, 190]),
        # A stop on the line, rolling back and on again: one passage, at the first crossing.
        ([(10, True, 200), (15, False, 202), (30, True, 204), (99, True, 2200)], [10, 99]),
        # A spin over the line that ends behind it: the car passes for good only later.
        ([(10, True, 200), (12, False, 230), (100, True, 2240)], [100]),
        # Pushed back over the line to the grid before the start.
        ([(5, False, 8), (60, True, 20), (150, True, 2020)], [60, 150]),
        # A spin just after the line, rolling back over it: the lap had begun at 100 s already.
        ([(9, True, 200), (100, True, 2200), (110, False, 2260), (120, True, 2300)], [9, 100]),
        # Driven the wrong way: nothing counts.
        ([(10, False, 200), (100, False, 2200)], []),
    ],
)
def test_which_crossings_count(crossed: list, counted: list) -> None:
    assert passages(table(*crossed))["time_s"].tolist() == counted


def test_a_hole_of_days_in_which_the_line_is_crossed_costs_no_more_than_an_hour() -> None:
    day_s = 86_400.0
    motion = along_east(
        [-10.0, 0.0, 30 * day_s, 30 * day_s + 10.0],
        lambda t: np.interp(t, [-10.0, 0.0, 30 * day_s, 30 * day_s + 10.0], [-300, -100, 100, 300]),
        lambda t: np.where((t > 0.0) & (t < 30 * day_s), 200.0 / (30 * day_s), 20.0),
    )
    looked_at = []
    whole = motion.position

    def counted(t):
        looked_at.append(np.size(t))
        return whole(t)

    motion.position = counted
    found = crossings(GATE, motion)
    assert found["time_s"].to_numpy() == pytest.approx([15 * day_s], abs=1e-3)
    # Ten a second would be 26 million.
    assert sum(looked_at) < 1_000_000

"""The usual pass counts passes, not fixes; a car stands where its positions only tremble."""

from typing import Any, cast

import numpy as np
import pytest

from lapwright.geometry.path import ReferencePath
from lapwright.laps.track_mapping import TrackMapping, usual_pass


def passes(rate_hz: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Five laps of 1000 m at 35 m/s on the line, one at 8 m/s 13 m beside it."""
    step = 1.0 / rate_hz
    fast = np.arange(0.0, 5000.0, 35.0 * step)
    slow = np.arange(fast[-1] + 8.0 * step, 6000.0, 8.0 * step)
    station = np.concatenate([fast, slow])
    offset = np.concatenate([np.zeros(len(fast)), np.full(len(slow), -13.0)])
    speed = np.concatenate([np.full(len(fast), 35.0), np.full(len(slow), 8.0)])
    return station, offset, speed


@pytest.mark.parametrize("rate_hz", [1.0, 10.0])
def test_a_slow_pass_has_no_more_say_than_a_fast_one(rate_hz: float) -> None:
    station, offset, speed = passes(rate_hz)
    usual_offset, usual_speed, cell = usual_pass(station, offset, speed, 1000.0)
    np.testing.assert_allclose(usual_offset, 0.0, atol=1e-9)
    np.testing.assert_allclose(usual_speed, 35.0, atol=1e-9)
    assert cell.shape == station.shape


def test_a_standing_car_has_no_say() -> None:
    station, offset, speed = passes(1.0)
    k = int(np.searchsorted(station, 2500.0))
    still = np.full(500, station[k])
    station = np.insert(station, k + 1, still)
    offset, speed = np.insert(offset, k + 1, np.full(500, 4.0)), np.insert(speed, k + 1, 0 * still)
    usual_offset, usual_speed, _ = usual_pass(station, offset, speed, 1000.0)
    np.testing.assert_allclose(usual_offset, 0.0, atol=1e-9)
    assert usual_speed.min() > 30.0


def test_a_hole_in_the_log_is_not_filled() -> None:
    # Two laps, 5 m beside the path and on it; most of the second is missing.
    station = np.concatenate([np.arange(0.0, 1000.0, 3.5), np.arange(1800.0, 2000.0, 3.5)])
    offset = np.where(station < 1000.0, 5.0, 0.0)
    usual_offset, _, _ = usual_pass(station, offset, np.full(len(station), 35.0), 1000.0)
    np.testing.assert_allclose(usual_offset[2:38], 5.0, atol=1e-9)


@pytest.mark.parametrize("aside_m", [15.0, -15.0])
@pytest.mark.parametrize("off_lap", [0, 1])
def test_of_two_passes_the_one_near_the_path_is_the_usual(aside_m: float, off_lap: int) -> None:
    # Two laps of 1000 m a metre left of the path; one of them runs wide from 400 to 500 m.
    station = np.arange(0.0, 2000.0, 3.5)
    wide = (np.floor(station / 1000.0) == off_lap) & (np.abs(station % 1000.0 - 450.0) < 50.0)
    offset = np.where(wide, aside_m, 1.0)
    usual_offset, _, cell = usual_pass(station, offset, np.full(len(station), 35.0), 1000.0)
    away = np.abs(offset - usual_offset[cell]) > 8.0
    assert away[wide].mean() > 0.9
    assert not away[~wide].any()


def test_a_single_pass_is_its_own_usual_line() -> None:
    # A path drawn roughly from a map, 10 m beside the only lap.
    station = np.arange(0.0, 1000.0, 3.5)
    offset = np.full(len(station), 10.0)
    usual_offset, _, _ = usual_pass(station, offset, np.full(len(station), 35.0), 1000.0)
    np.testing.assert_allclose(usual_offset, 10.0, atol=1e-9)


def test_two_passes_that_agree_outvote_the_path() -> None:
    station = np.arange(0.0, 2000.0, 3.5)
    offset = np.where(station < 1000.0, 10.0, 11.0)
    usual_offset, _, _ = usual_pass(station, offset, np.full(len(station), 35.0), 1000.0)
    assert usual_offset.min() > 9.0


def test_trembling_positions_stand_and_a_crawling_car_does_not() -> None:
    rng = np.random.default_rng(1)
    time_s = np.arange(0.0, 60.0, 0.04)
    # 20 s parked, then a crawl at 1.5 m/s; a tremble of 0.2 m makes speeds of 2 m/s and more.
    along = np.maximum(time_s - 20.0, 0.0) * 1.5
    position = np.stack([along, 0.0 * along], axis=1) + rng.normal(0.0, 0.1, (len(time_s), 2))
    none = np.zeros(len(time_s))
    mapped = TrackMapping(
        cast("ReferencePath", None), time_s, position, np.full(len(time_s), 2.5), along, none, none,
        none, none.astype(bool),
    )  # fmt: skip
    assert mapped.standing[time_s < 19.0].mean() > 0.98
    assert not mapped.standing[time_s > 22.0].any()


def test_a_phone_that_wanders_by_metres_stands() -> None:
    rng = np.random.default_rng(2)
    time_s = np.arange(0.0, 300.0, 1.0)
    error = np.zeros((300, 2))
    for i in range(1, 300):
        error[i] = 0.78 * error[i - 1] + 1.25 * rng.standard_normal(2)  # 2 m, lasting 4 s
    # Two minutes parked, then a slow lap.
    along = np.maximum(time_s - 120.0, 0.0) * 12.0
    position = np.stack([along, 0.0 * along], axis=1) + error
    none = np.zeros(300)
    parts = (None, time_s, position, np.full(300, 2.5), along, none, none, none, none.astype(bool))
    usual, phone = (TrackMapping(*cast("tuple[Any, ...]", parts), still_s=s) for s in (1.0, 8.5))
    parked = time_s < 110.0
    assert usual.standing[parked].mean() < 0.6
    assert phone.standing[parked].mean() > 0.95
    assert not phone.standing[time_s > 130.0].any()

"""Rounded stamps against the simulated truth they came from."""

import numpy as np
import pytest

from lapwright.ingest.recording import Recording
from lapwright.ingest.time.regular_grid import repair_rounded


def simulate(
    rate_hz: float,
    round_s: float,
    count: int = 4000,
    missing: float = 0.0,
    jitter_s: float = 0.0,
    gap: slice | None = None,
    seed: int = 0,
):
    """True times of a moving car and what is left of them; gives truth, result and findings."""
    rng = np.random.default_rng(seed)
    keep = rng.random(count) >= missing
    if gap is not None:
        keep[gap] = False
    keep[0] = True
    true_s = np.arange(count) / rate_hz + jitter_s * rng.normal(size=count)
    true_s = np.sort(true_s)[keep]
    place_m = np.cumsum(np.append(0, np.diff(true_s) * 30.0)) + 0.03 * rng.normal(size=len(true_s))
    time_ns = np.rint(np.round(true_s / round_s) * round_s * 1e9).astype(np.int64)
    lat = 45 + place_m / 111_200
    line = np.arange(2, len(true_s) + 2)
    recording = Recording("csv", line, time_ns, "relative", lat, np.full(len(lat), 7.0))
    notes = []
    repaired = repair_rounded(time_ns, recording, np.arange(len(lat)), notes)
    return true_s, repaired, notes


@pytest.mark.parametrize(
    ("rate_hz", "round_s"),
    [(18, 0.1), (30, 0.001), (30, 0.01), (10, 1.0), (5, 1.0), (25, 0.1), (12.5, 0.1)],
)
def test_a_regular_grid_is_found_again(rate_hz: float, round_s: float) -> None:
    true_s, repaired, notes = simulate(rate_hz, round_s)
    assert repaired is not None
    # Whole seconds are on the grid, so the phase is known: to a nanosecond.
    assert np.abs(repaired / 1e9 - true_s).max() < 2e-9
    assert [note.code for note in notes] == ["rounded_time"]


@pytest.mark.parametrize(
    ("rate_hz", "round_s"), [(18, 0.1), (30, 0.001), (10, 1.0), (25, 0.1), (60, 0.01)]
)
@pytest.mark.parametrize("gap", [None, slice(1500, 1650)])
def test_with_one_fix_in_a_hundred_missing(rate_hz: float, round_s: float, gap) -> None:
    true_s, repaired, _notes = simulate(rate_hz, round_s, missing=0.01, gap=gap)
    assert repaired is not None
    error_s = repaired / 1e9 - true_s
    # Which of some neighbours is missing may stay open where rounding hides it: those are
    # wrong by a period, and are few.
    right = np.abs(error_s) < 2e-9
    assert right.mean() > 0.97
    assert np.abs(error_s).max() < round_s + 1.01 / rate_hz
    assert (np.diff(repaired) > 0).all()


def test_a_rate_that_is_no_whole_number() -> None:
    true_s, repaired, _ = simulate(17.3, 0.1, missing=0.01)
    assert repaired is not None
    error_s = repaired / 1e9 - true_s
    # The phase is known to a part of the rounding only; the steps are right.
    assert np.quantile(np.abs(error_s - np.median(error_s)), 0.95) < 1e-3


def test_a_logger_whose_clock_runs_slow() -> None:
    # 30 parts in a million are 7 ms over this log: no whole rate fits, its own one does.
    true_s, repaired, notes = simulate(18 * (1 - 3e-5), 0.1)
    assert repaired is not None
    error_s = repaired / 1e9 - true_s
    assert error_s.std() < 0.003
    assert "17.999" in notes[0].message


def test_jitter_is_not_made_up_away() -> None:
    # 20 Hz with 3 ms of jitter, stamps to 10 ms: stamps off the grid by 10 ms refute it.
    _, repaired, notes = simulate(20, 0.01, jitter_s=0.003)
    assert repaired is None
    assert notes == []
    _, repaired, _ = simulate(18, 0.1, jitter_s=0.03)
    assert repaired is None


def test_a_small_jitter_hides_no_coarse_rounding() -> None:
    # 3 ms are small against 100 ms: what is left is the jitter, not the rounding.
    true_s, repaired, _ = simulate(18, 0.1, jitter_s=0.003)
    assert repaired is not None
    error_s = repaired / 1e9 - true_s
    assert error_s.std() < 0.004


@pytest.mark.parametrize(("rate_hz", "round_s"), [(10, 0.1), (25, 0.01), (20, 0.001), (1, 1.0)])
def test_exact_stamps_are_left_alone(rate_hz: float, round_s: float) -> None:
    _, repaired, notes = simulate(rate_hz, round_s, missing=0.02)
    assert repaired is None
    assert notes == []


def test_uneven_times_are_left_alone() -> None:
    rng = np.random.default_rng(1)
    time_ns = np.cumsum(rng.integers(1, 30, 2000)) * 10**8
    lat = 45 + np.arange(2000) * 1e-5
    recording = Recording("csv", np.arange(2000), time_ns, "relative", lat, lat)
    assert repair_rounded(time_ns, recording, np.arange(2000), []) is None


def test_rows_written_twice_are_no_higher_rate() -> None:
    time_ns = np.repeat(np.arange(500), 2) * 10**9
    lat = np.repeat(45 + np.arange(500) * 1e-4, 2)
    recording = Recording("csv", np.arange(1000), time_ns, "relative", lat, lat)
    assert repair_rounded(time_ns, recording, np.arange(1000), []) is None

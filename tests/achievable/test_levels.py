"""Scatter is one group, a habit is another: levels of made-up runs."""

import numpy as np
import pytest

from lapwright.achievable.levels import find_levels


def runs(laps: int = 10, places: int = 8) -> np.ndarray:
    return 1.0 + 0.02 * np.random.default_rng(5).normal(size=(laps, places))


def test_scatter_alone_gives_the_mean() -> None:
    values = runs()
    found = find_levels(values)
    assert found.level == pytest.approx(values.mean(axis=0))
    assert found.usual == pytest.approx(found.level)


def test_a_habit_in_most_runs_is_left_out_of_the_level_and_stays_in_the_usual() -> None:
    values = runs()
    clean = values[[1, 4, 7], 3].mean()
    slow = np.delete(np.arange(10), [1, 4, 7])
    values[slow, 3] -= 0.2
    found = find_levels(values)
    assert found.level[3] == pytest.approx(clean)
    assert found.usual[3] == pytest.approx(values[:, 3].mean())
    assert (found.weight[:, 3] > 0).sum() == 3


def test_one_best_run_is_no_level() -> None:
    values = runs()
    values[0, 2] += 0.5
    assert (find_levels(values).weight[:, 2] > 0).sum() > 1


def test_what_is_not_known_has_no_part_in_it() -> None:
    values = runs()
    values[3, 1] = np.nan
    values[:, 5] = np.nan
    found = find_levels(values)
    assert found.level[1] == pytest.approx(np.nanmean(values[:, 1]))
    assert np.isnan(found.level[5])
    assert found.influence[3, 1] == 0.0
    assert np.isfinite(found.influence).all()


def test_influence_of_a_mean_is_the_share_of_each_run() -> None:
    # The mean of n values moves by (x - mean) / n with each: its variance is the sum of squares
    # times n / (n - 1), that of a mean; by hand.
    values = runs()
    moved = find_levels(values).influence
    variance = 10 / 9 * (moved**2).sum(axis=0)
    assert variance == pytest.approx(values.var(axis=0, ddof=1) / 10)

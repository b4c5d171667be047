"""A slow lap that nothing set aside does not decide."""

import numpy as np
import pytest

from lapwright.coaching.car_change.slow_laps import reined_in


def _laps(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    session = np.repeat([0, 1], [8, 10])
    lap = np.concatenate([np.arange(8.0), np.arange(10.0)])
    return 90.0 + 0.02 * lap + session + rng.normal(0.0, 0.3, 18), session, lap


def test_a_lap_in_traffic_moves_its_session_s_mean_little() -> None:
    time, session, lap = _laps(np.random.default_rng(1))
    slow = time + np.where(np.arange(18) == 3, 4.0, 0.0)
    with_it, without = (reined_in(t, session, lap)[0][session == 0].mean() for t in (slow, time))
    # As it is, it would move the mean of eight by 0.5 s.
    assert abs(with_it - without) < 0.2


def test_equally_good_laps_keep_their_means_and_their_scatter() -> None:
    rng = np.random.default_rng(2)
    moved, ratio = [], []
    for _ in range(300):
        time, session, lap = _laps(rng)
        new, _ = reined_in(time, session, lap)
        moved.append(new.mean() - time.mean())
        ratio.append(new.std() / time.std())
    assert np.mean(moved) == pytest.approx(0.0, abs=0.004)
    assert np.mean(ratio) == pytest.approx(1.0, abs=0.02)


def test_what_is_added_to_all_laps_is_added_to_all_laps() -> None:
    time, session, lap = _laps(np.random.default_rng(3))
    (one, sd), (other, same) = reined_in(time, session, lap), reined_in(time + 7.0, session, lap)
    assert other - one == pytest.approx(np.full(18, 7.0))
    assert same == pytest.approx(sd)

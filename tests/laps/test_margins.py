"""Each lap's gap to the best, with the errors two laps share taken out."""

import numpy as np
import pandas as pd
import pytest
from lapwright.laps.margins import margins_to

from lapwright.laps.cutting.cuts import Cuts
from lapwright.motion import Posterior

CUTS_S = np.array([0.0, 60.0, 121.0, 180.0, 300.0])
SD_S = 0.01


@pytest.fixture
def cuts() -> Cuts:
    """Five passages, each with an error of its own and the same size."""
    posterior = Posterior(np.ones(1), CUTS_S[None], SD_S**2 * np.eye(5)[None])
    passages = pd.DataFrame({"time_s": CUTS_S, "at_line": True})
    empty = np.zeros((4, 0))
    return Cuts(passages, empty, posterior, empty.astype(np.intp), ())


@pytest.fixture
def laps() -> pd.DataFrame:
    """Three timed laps and one without a time."""
    times = [60.0, 61.0, 59.0, np.nan]
    return pd.DataFrame(
        {"lap": [1, 2, 3, 4], "time_s": times, "start_s": CUTS_S[:-1], "end_s": CUTS_S[1:]},
        index=[10, 11, 12, 13],
    )


def test_gaps_by_hand(laps: pd.DataFrame, cuts: Cuts) -> None:
    out = margins_to(laps, cuts, 3)
    assert list(out.index) == [10, 11, 12, 13]
    np.testing.assert_allclose(out["gap_s"], [1.0, 2.0, 0.0, np.nan])
    # Lap 1 shares no passage with lap 3: four errors. Lap 2 ends where lap 3 begins, and that
    # passage counts twice: 1 + 4 + 1 variances. A lap against itself is exact.
    np.testing.assert_allclose(
        out["gap_sd_s"], [2.0 * SD_S, np.sqrt(6.0) * SD_S, 0.0, np.nan], rtol=1e-6
    )


@pytest.mark.parametrize("lap", [None, 4, 9])
def test_nothing_to_compare_with(laps: pd.DataFrame, cuts: Cuts, lap: int | None) -> None:
    out = margins_to(laps, cuts, lap)
    assert out.isna().all(axis=None)
    assert list(out.columns) == ["gap_s", "gap_sd_s"]
    assert list(out.index) == [10, 11, 12, 13]

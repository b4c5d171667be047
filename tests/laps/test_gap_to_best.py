"""Gaps to the best lap, with error bars that know of the passages that two laps share."""

import numpy as np
import pandas as pd
import pytest

from lapwright.laps.cutting.cuts import Cuts
from lapwright.laps.gap_to_best import gaps_to_best
from lapwright.motion import Posterior

# Four passages of the line, each known to 10 ms by itself: three laps in a row.
PASSAGES_S = np.array([100.0, 191.0, 281.0, 373.0])
SD_S = 0.01


def cuts() -> Cuts:
    posterior = Posterior(np.ones(1), PASSAGES_S[None], SD_S**2 * np.eye(4)[None])
    none = np.zeros((3, 0))
    passages = pd.DataFrame({"time_s": PASSAGES_S})
    return Cuts(passages, none, posterior, none.astype(np.intp), ())


def laps() -> pd.DataFrame:
    # An out lap without a time before them; an index of its own.
    start, end = np.r_[0.0, PASSAGES_S[:-1]], PASSAGES_S
    time = np.r_[np.nan, np.diff(PASSAGES_S)]
    columns = {"lap": np.arange(4), "start_s": start, "end_s": end, "time_s": time}
    return pd.DataFrame(columns, index=[7, 8, 9, 10])


def test_laps_in_a_row_share_a_passage() -> None:
    found = gaps_to_best(laps(), cuts(), 2)
    assert list(found.index) == [7, 8, 9, 10]
    # 91, 90 and 92 s.
    np.testing.assert_allclose(found["gap_s"], [np.nan, 1.0, 0.0, 2.0])
    # By hand: (b - a) - (c - b) = 2 b - a - c, variance 4 + 1 + 1 of a passage's: more than the
    # four of laps that share none.
    np.testing.assert_allclose(found["gap_sd_s"], [np.nan, 6**0.5 * SD_S, 0.0, 6**0.5 * SD_S])
    apart = gaps_to_best(laps(), cuts(), 1)["gap_sd_s"]
    assert apart[10] == pytest.approx(2.0 * SD_S)


@pytest.mark.parametrize("best", [None, 0, 99])
def test_without_a_lap_to_compare_with_there_is_no_gap(best: int | None) -> None:
    # None counts, it has no time, it is not there.
    assert gaps_to_best(laps(), cuts(), best).isna().all(axis=None)

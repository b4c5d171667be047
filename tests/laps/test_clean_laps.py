"""Which laps are clean, which is the best, and the best sectors added up."""

import numpy as np
import pandas as pd
import pytest

from lapwright.laps.clean_laps import NOT_FOR_BEST, best_lap, theoretical_best, with_clean_laps
from lapwright.laps.cutting.cuts import Cuts
from lapwright.motion import Posterior

CUTS_S = np.array([0.0, 60.0, 121.0, 180.0])
# One line in the middle of each lap.
SECTORS_S = np.array([[29.0], [91.0], [150.0]])
SD_S = 0.01


@pytest.fixture
def cuts() -> Cuts:
    """Four passages and a sector line; every crossing with the same error of its own."""
    times = np.concatenate([CUTS_S, SECTORS_S[:, 0]])
    posterior = Posterior(np.ones(1), times[None], SD_S**2 * np.eye(7)[None])
    passages = pd.DataFrame({"time_s": CUTS_S, "at_line": True})
    return Cuts(passages, SECTORS_S, posterior, np.array([[4], [5], [6]]), ())


def lap_rows(times_s: list[float], flags: dict[int, tuple[str, ...]] | None = None) -> pd.DataFrame:
    count = len(times_s)
    return pd.DataFrame(
        {
            "lap": np.arange(1, count + 1),
            "kind": ["timed"] * count,
            "time_s": times_s,
            "flags": [(flags or {}).get(k, ()) for k in range(1, count + 1)],
        }
    )


def test_slow_and_representative_by_the_usual_time() -> None:
    # The usual lap is the median of the faster half: of 100, 100.5, 101 it is 100.5. From there
    # 6 % more is slow (106.53 s) and 3 % more no longer representative (103.515 s).
    times = [100.0, 100.5, 101.0, 103.5, 103.6, 106.6]
    table = with_clean_laps(lap_rows(times))
    assert table["representative"].tolist() == [True, True, True, True, False, False]
    assert table["flags"].tolist() == [(), (), (), (), (), ("slow",)]


def test_a_flagged_or_untimed_lap_is_not_representative() -> None:
    table = lap_rows([100.0, 100.0, 100.0], {2: ("gap",)})
    table.loc[2, "kind"] = "in"
    found = with_clean_laps(table)
    assert found["representative"].tolist() == [True, False, False]


def test_a_standing_start_is_not_slow_as_well() -> None:
    table = with_clean_laps(lap_rows([120.0, 100.0, 100.0], {1: ("standing_start",)}))
    assert table["flags"][0] == ("standing_start",)


def test_without_times_nothing_is_clean() -> None:
    table = lap_rows([np.nan, np.nan])
    assert with_clean_laps(table)["representative"].tolist() == [False, False]
    assert best_lap(table) is None


def test_the_best_lap_went_the_whole_way() -> None:
    # A slow flag does not keep a lap from being the best; a lap not driven whole is none.
    for flag in NOT_FOR_BEST:
        assert best_lap(lap_rows([99.0, 100.0, 101.0], {1: (flag,), 2: ("slow",)})) == 2
    table = lap_rows([99.0, 100.0, 101.0])
    table.loc[0, "kind"] = "out"
    assert best_lap(table) == 2
    assert best_lap(lap_rows([np.nan, 100.5, 100.0])) == 3


def test_the_best_sectors_added_up(cuts: Cuts) -> None:
    # Sectors by hand: 29 and 31, 31 and 30, 29 + 30. The best are 29 of the first lap and 30 of the
    # second (the third is not clean). They share no crossing: four independent errors.
    table = pd.DataFrame(
        {
            "start_s": CUTS_S[:3],
            "representative": [True, True, False],
            "sectors_s": [(29.0, 31.0), (31.0, 30.0), (28.0, 29.0)],
        }
    )
    total = theoretical_best(table, cuts)
    assert total is not None
    # The second sector of lap 2: 91 to 121 s.
    assert total[0] == pytest.approx(29.0 + 30.0)
    assert total[1] == pytest.approx(2.0 * SD_S)
    # Both of one lap share the crossing between them, which cancels.
    alone = theoretical_best(table.iloc[:1], cuts)
    assert alone is not None
    assert alone == (pytest.approx(60.0), pytest.approx(np.sqrt(2.0) * SD_S))


def test_without_a_clean_time_in_each_sector_there_is_no_sum(cuts: Cuts) -> None:
    table = pd.DataFrame(
        {"start_s": [0.0], "representative": [True], "sectors_s": [(29.0, np.nan)]}
    )
    assert theoretical_best(table, cuts) is None
    assert theoretical_best(table.assign(representative=False), cuts) is None
    # Another lap may have it.
    two = pd.DataFrame(
        {
            "start_s": [0.0, 60.0],
            "representative": [True, True],
            "sectors_s": [(29.0, np.nan), (np.nan, 30.0)],
        }
    )
    total = theoretical_best(two, cuts)
    assert total is not None
    assert total[0] == pytest.approx(59.0)

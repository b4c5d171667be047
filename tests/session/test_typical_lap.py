"""Which lap is held against the best."""

import pandas as pd
from worlds import World

from lapwright.session.typical_lap import typical_lap


def test_typical_lap_is_the_middle_of_the_others() -> None:
    laps = pd.DataFrame(
        {
            "lap": [1, 2, 3, 4, 5],
            "time_s": [100.0, 95.0, 97.0, 96.0, 99.0],
            "representative": [False, True, True, True, True],
            "kind": "timed",
            "flags": [("slow",), (), (), (), ()],
        }
    )
    # Without the best (2) and the flagged (1): 97, 96, 99; the middle is 97, lap 3.
    assert typical_lap(laps, best=2) == 3
    assert typical_lap(laps[laps["lap"] < 3], best=2) is None


def test_of_two_in_the_middle_it_is_the_earlier_one_whatever_the_rounding() -> None:
    laps = pd.DataFrame(
        {
            "lap": [1, 2, 3, 4, 5],
            "time_s": [97.1, 95.0, 95.54948420913654, 95.51807569068515, 95.4],
            "representative": True,
            "kind": "timed",
            "flags": [(), (), (), (), ()],
        }
    )
    # Laps 3 and 4 are as far from the median between them, but for its last digit.
    assert typical_lap(laps, best=2) == 3
    swapped = laps.assign(time_s=laps["time_s"].to_numpy()[[0, 1, 3, 2, 4]])
    assert typical_lap(swapped, best=2) == 3


def test_a_lap_on_cold_tyres_is_taken_only_where_there_is_no_other() -> None:
    laps = pd.DataFrame(
        {
            "lap": [0, 1, 2, 3, 4, 5],
            "time_s": [130.0, 97.0, 95.0, 96.0, 99.0, 98.0],
            "representative": [False, True, True, True, False, True],
            "kind": ["out", "timed", "timed", "timed", "timed", "timed"],
            "flags": [(), (), (), (), ("standing_start",), ()],
        }
    )
    # Of 97, 96 and 98 the middle is lap 1, but it follows the out lap, and lap 5 the launch.
    assert typical_lap(laps, best=2) == 3
    assert typical_lap(laps[laps["lap"] < 3], best=2) == 1


def test_a_session_has_one_that_is_clean_and_not_the_best(world: World) -> None:
    session = world.session
    assert session.typical_lap in session.clean_laps
    assert session.typical_lap != session.best_lap

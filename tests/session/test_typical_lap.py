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
        }
    )
    # Without the best (2) and the flagged (1): 97, 96, 99; the middle is 97, lap 3.
    assert typical_lap(laps, best=2) == 3
    assert typical_lap(laps[laps["lap"] < 3], best=2) is None


def test_a_session_has_one_that_is_clean_and_not_the_best(world: World) -> None:
    session = world.session
    assert session.typical_lap in session.clean_laps
    assert session.typical_lap != session.best_lap

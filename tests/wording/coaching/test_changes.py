"""A change in words: its size, its interval, and no verdict where there is none."""

import numpy as np
import pandas as pd

from lapwright.coaching.before_after import Difference, before_after, difference_of_means
from lapwright.wording.coaching.change_words import ChangeWords
from lapwright.wording.coaching.changes import change_text


def _laps(times: list[float]) -> pd.DataFrame:
    return pd.DataFrame({"time_s": times, "representative": [True] * len(times)})


def test_too_few_laps_are_not_compared() -> None:
    one = difference_of_means(np.array([90.0]), np.array([91.0, 92.0]))
    none = difference_of_means(np.array([]), np.array([91.0, 92.0]))
    for change in (one, none):
        assert "too few to compare" in change_text("Clean laps", change)


def test_few_laps_are_said_to_be_few() -> None:
    change = difference_of_means(np.array([90.0, 90.2, 90.1]), np.array([89.0, 89.1, 89.2, 89.3]))
    said = change_text("Clean laps", change)
    assert "0.95 s quicker" in said
    assert said.endswith("That is too few laps to rely on.")


def test_no_verdict_on_what_is_not_resolved() -> None:
    same = np.array([90.0, 90.4, 90.1, 90.3, 90.2])
    said = change_text("Clean laps", difference_of_means(same, same + 0.01))
    assert said.endswith("So it could be nothing.")
    assert "95 % interval" in said


def test_nothing_has_no_sign() -> None:
    # Both 90.10 s to the last digit shown, and the interval's upper end rounds to nothing.
    before = Difference(90.1, 90.0991, -0.0009, -0.5, -0.0001, 9, 9)
    said = change_text("Clean laps", before)
    assert (
        "on average 1:30.10 before, 1:30.10 now, as quick (95 % interval 0.00 to 0.50 s quicker; "
        "9 laps" in said
    )
    assert "-0.00" not in said


def test_an_interval_is_said_in_the_words_of_its_change() -> None:
    change = Difference(10.57, 10.32, -0.23, -0.41, -0.05, 9, 7)
    assert (
        ChangeWords().with_interval(change)
        == "0.23 s quicker (95 % interval 0.05 to 0.41 s quicker)"
    )
    place = ChangeWords("ft", "earlier", "later", "at the same place", 0, 3.28)
    assert place.interval(1.0, 3.0) == "3 to 10 ft later"
    assert place.interval(-3.0, 1.0) == "10 ft earlier to 3 ft later"
    assert place.interval(-3.0, -1.0) == "3 to 10 ft earlier"
    assert place.amount(0.1) == "at the same place"


def test_a_change_over_sessions_is_said_by_its_own_sentences() -> None:
    said = change_text("Clean laps", before_after(_laps([90.0] * 5), _laps([89.0] * 5)))
    assert said.startswith("Clean laps: 1.00 s quicker (95 % interval ")
    assert "5 laps in 1 session without it, 5 laps in 1 session with it" in said

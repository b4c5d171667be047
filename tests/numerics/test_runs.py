"""Runs of true flags."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lapwright.numerics.runs import flag_runs


@given(st.lists(st.booleans(), max_size=40))
def test_the_runs_hold_all_true_flags_and_no_others(flags: list[bool]) -> None:
    again = np.zeros(len(flags), dtype=bool)
    ends = -2
    for first, last in flag_runs(np.array(flags, dtype=bool)):
        # Apart from each other by one false flag at least, or they were one run.
        assert ends + 1 < first <= last
        again[first : last + 1] = True
        ends = last
    assert again.tolist() == flags

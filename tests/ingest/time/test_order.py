"""Times of day that go on past midnight."""

import numpy as np
import pytest

from lapwright.ingest.log import Finding
from lapwright.ingest.time.order import unwrap_midnight
from lapwright.ingest.time.scales import DAY_NS, NANO, NO_TIME

LINES = np.arange(2, 7)


def seconds(*of_day: float) -> np.ndarray:
    return np.array([round(one * NANO) for one in of_day], np.int64)


@pytest.mark.parametrize(
    ("of_day", "days", "said"),
    [
        ((86_398, 86_399, 0, 1, 2), (0, 0, 1, 1, 1), [(4, 4)]),
        ((10, 11, 12, 13, 14), (0, 0, 0, 0, 0), []),
        # Lines from before midnight behind one from after it: nothing runs past midnight there.
        ((0, 86_398, 86_399, 86_399, 86_399), (0, -1, -1, -1, -1), []),
    ],
)
def test_a_day_is_added_where_midnight_is_passed(of_day, days, said) -> None:
    notes: list[Finding] = []
    out = unwrap_midnight(seconds(*of_day), notes, LINES)
    assert ((out - seconds(*of_day)) // DAY_NS).tolist() == list(days)
    assert [one.lines for one in notes] == [tuple(said)] * bool(said)
    assert all(one.count > 0 for one in notes)


def test_records_without_a_time_are_passed_over() -> None:
    time_ns = np.array([86_399 * NANO, NO_TIME, 1 * NANO, NO_TIME, 2 * NANO])
    out = unwrap_midnight(time_ns, [], LINES)
    assert out.tolist() == [
        86_399 * NANO, NO_TIME, DAY_NS + NANO, NO_TIME, DAY_NS + 2 * NANO
    ]  # fmt: skip

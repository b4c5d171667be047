from dataclasses import replace

import pytest

import lapwright as lw
from lapwright.live_session.receiving.fixes import Fix, InOrder, fixes_of


def times(order: InOrder, *at_s: float) -> list[tuple[float, bool]]:
    out = []
    for time_s in at_s:
        out += [(f.time_s, again) for f, again in order.take(Fix(time_s, 51.0, 2.0))]
    return out


def test_times_go_forward_and_a_repeat_is_left_out() -> None:
    order = InOrder()
    assert times(order, 1.0, 1.1, 1.1, 1.2) == [(1.0, True), (1.1, False), (1.2, False)]
    assert (order.repeated, order.odd) == (1, 0)


@pytest.mark.parametrize("odd", [0.5, 86_400.0])
def test_one_odd_time_is_left_out(odd: float) -> None:
    order = InOrder()
    assert times(order, 1.0, 1.1, odd, 1.2) == [(1.0, True), (1.1, False), (1.2, False)]
    assert order.odd == 1


def test_odd_times_one_after_the_other_are_all_left_out() -> None:
    order = InOrder()
    assert times(order, 1.0, 1.1, 500.0, 900.0, 1.2)[2:] == [(1.2, False)]
    assert order.odd == 2


def test_a_gap_that_goes_on_is_a_gap() -> None:
    assert times(InOrder(), 1.0, 100.0, 100.1)[1:] == [(100.0, False), (100.1, False)]


def test_a_receiver_that_begins_again_is_another_time() -> None:
    assert times(InOrder(), 1000.0, 5.0, 5.1)[1:] == [(5.0, True), (5.1, False)]


def test_what_has_no_place_on_the_earth_is_not_used() -> None:
    good = Fix(0.0, 51.0, 2.0)
    assert good.usable
    for wrong in ({"lat_deg": 91.0}, {"lon_deg": float("nan")}, {"time_s": float("inf")}):
        assert not replace(good, **wrong).usable


def test_a_log_is_given_again_fix_by_fix() -> None:
    log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    fixes = list(fixes_of(log))
    assert len(fixes) == len(log.fixes)
    assert fixes[0].time_s == log.first_fix_s
    assert fixes[-1].lat_deg == log.fixes["lat_deg"].iloc[-1]
    assert all(fix.dated for fix in fixes)

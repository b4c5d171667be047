"""The main cause of a corner, and what bears it out: from made causes and passes."""

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from worlds import World

from lapwright.corners.why import ONLY_ONE_BRAKED, Apart, Carried, Why, why
from lapwright.laps.comparison import Comparison

CORNER = 3


@pytest.fixture(scope="module")
def plain(world: World) -> Comparison:
    """Two laps; what they lost is made up in each test."""
    return world.session.compare(*world.session.timed_laps[:2])


def made(
    c: Comparison, lost: dict[str, float], did: dict[str, Any] | None = None, sd_s: float = 0.01,
    cov: np.ndarray | None = None, corner: int = CORNER,
) -> Comparison:  # fmt: skip
    """The same comparison with these causes in one corner and nothing elsewhere."""
    causes = c.causes.assign(lost_s=0.0, lost_sd_s=sd_s)
    for cause, value in lost.items():
        causes.loc[(causes["corner"] == corner) & (causes["cause"] == cause), "lost_s"] = value
    whole = np.eye(len(causes)) * sd_s**2 if cov is None else cov
    passes = c.passes.copy()
    for name in passes.filter(like="difference_"):
        passes[name] = 0.1 if "_sd_" in name else 0.0
    for name, value in (did or {}).items():
        passes.loc[passes["corner"] == corner, name] = value
    quiet = c.ledger.assign(difference_s=0.0)
    return replace(c, ledger=quiet, causes_of=lambda: (causes, whole), passes_of=lambda: passes)


def at(c: Comparison, corner: int = CORNER) -> Why:
    return next(one for one in why(c) if one.corner == corner)


@pytest.mark.parametrize(
    ("cause", "shows", "sign"),
    [
        ("braking", "brake_to_corner_m", 1.0),
        ("braking", "peak_decel_mps2", -1.0),
        ("minimum", "min_speed_mps", -1.0),
        ("exit", "throttle_station_m", 1.0),
        ("exit", "exit_speed_mps", -1.0),
    ],
)
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_what_the_driver_did_bears_its_cause_out(
    plain: Comparison, cause: str, shows: str, sign: float, way: float
) -> None:
    # Lost by braking earlier or softer, being slower, picking up later; gained by the opposite.
    one = at(made(plain, {cause: 0.2 * way}, {f"difference_{shows}": way * sign}))
    assert (one.cause, one.cause_s) == (cause, 0.2 * way)
    assert one.largest
    assert one.shown_by == (Apart(shows, way * sign, 0.1),)
    assert one.against == ()
    # The other quantity of the cause is the same on both laps.
    assert shows not in [a.name for a in one.same]
    against = at(made(plain, {cause: 0.2 * way}, {f"difference_{shows}": -way * sign}))
    assert (against.shown_by, against.against) == ((), (Apart(shows, -way * sign, 0.1),))


def test_a_sum_below_twice_its_bar_has_no_cause(plain: Comparison) -> None:
    # Four causes of 0.01 s each make 0.02 s for the sum: 0.04 s is the least that is clear.
    slower = {"difference_min_speed_mps": -1.0}
    below = at(made(plain, {"minimum": 0.039}, slower))
    assert (below.clear, below.cause, below.shown_by) == (False, "", ())
    above = at(made(plain, {"minimum": 0.041}, slower))
    assert (above.clear, above.cause, above.lost_sd_s) == (True, "minimum", pytest.approx(0.02))
    # What the parts err alike by drops out of the sum, which then is clear by itself.
    cov = np.eye(len(plain.causes)) * 0.01**2
    rows = np.flatnonzero(plain.causes["corner"] == CORNER)
    for a, b in (rows[:2], rows[2:]):
        cov[a, b] = cov[b, a] = -0.9 * 0.01**2
    assert at(made(plain, {"minimum": 0.039}, slower, cov=cov)).clear


def test_less_than_half_a_millisecond_is_nothing_however_sure() -> None:
    # On some circuits there is nothing before corner 1, and that has no error bar.
    assert not Why(0, 0.0004, 0.0).clear
    assert Why(0, 0.0006, 0.0).clear


def test_the_cause_has_the_sign_of_the_sum_and_is_clear_itself(plain: Comparison) -> None:
    # Most was gained on the brakes, yet the corner was lost.
    one = at(made(plain, {"braking": -0.3, "minimum": 0.2, "exit": 0.25}))
    assert (one.cause, one.largest) == ("exit", True)
    # 0.25 and 0.24 differ by less than twice the bar of a difference of two, 0.028 s.
    assert not at(made(plain, {"minimum": 0.24, "exit": 0.25})).largest
    # Spread evenly: the sum is clear, no part is.
    spread = dict.fromkeys(("braking", "minimum", "exit", "straight"), 0.019)
    one = at(made(plain, spread))
    assert (one.clear, one.cause) == (True, "")


def test_the_line_is_asked_only_where_nothing_else_shows_it(plain: Comparison) -> None:
    corner = next(k for k in plain.track.corners if k.order == CORNER)
    outward = -1.0 if corner.direction == "left" else 1.0
    wide = {"difference_apex_offset_m": outward}
    one = at(made(plain, {"minimum": 0.2}, wide))
    assert one.wider == (Apart("apex_offset_m", outward, 0.1),)
    # Wider and quicker does not go together, nor does the inside and slower.
    assert at(made(plain, {"minimum": -0.2}, wide)).wider == ()
    assert at(made(plain, {"minimum": 0.2}, {"difference_apex_offset_m": -outward})).wider == ()
    slow = wide | {"difference_min_speed_mps": -1.0}
    assert at(made(plain, {"minimum": 0.2}, slow)).wider == ()


def test_only_one_of_two_laps_braked(plain: Comparison) -> None:
    did = {"reference_brake_to_corner_m": np.nan, "difference_brake_to_corner_m": np.nan}
    did["brake_to_corner_m"] = 50.0
    one = at(made(plain, {"braking": 0.2}, did))
    assert one.shown_by == (Apart(ONLY_ONE_BRAKED, 1.0, 0.0),)
    # A run that is missing as a whole shows nothing.
    gone = did | {"difference_min_speed_mps": np.nan}
    assert at(made(plain, {"braking": 0.2}, gone)).shown_by == ()


def with_ledger(c: Comparison, corner: int, lost_s: float) -> Comparison:
    """The same, with this time in the corner's braking zone."""
    here = (c.ledger["corner"] == corner) & (c.ledger["stretch"] == "braking")
    cov = np.eye(len(c.ledger)) * 0.01**2
    return replace(c, ledger=c.ledger.assign(difference_s=lost_s * here), ledger_cov_s2=cov)


def test_time_in_a_braking_zone_may_come_from_the_corner_before(plain: Comparison) -> None:
    slow_exit = made(plain, {"exit": 0.3})
    one = at(with_ledger(slow_exit, CORNER + 1, 0.12), CORNER + 1)
    assert one.carried == Carried(0.12, pytest.approx(0.01), CORNER, "exit")
    # Too little to be told from nothing; gained there; or lost by braking itself.
    assert at(with_ledger(slow_exit, CORNER + 1, 0.019), CORNER + 1).carried is None
    assert at(with_ledger(slow_exit, CORNER + 1, -0.12), CORNER + 1).carried is None
    braked = made(plain, {"braking": 0.1}, corner=CORNER + 1)
    assert at(with_ledger(braked, CORNER + 1, 0.12), CORNER + 1).carried is None
    # Less than half of it, and it is the braking's; and less than half brought is not most of it.
    for lost_s, carried in ((0.05, True), (0.07, False)):
        both = slow_exit.causes.copy()
        row = (both["corner"] == CORNER + 1) & (both["cause"] == "braking")
        both.loc[row, "lost_s"] = lost_s
        cov = slow_exit.causes_cov_s2
        some = replace(slow_exit, causes_of=lambda both=both, cov=cov: (both, cov))
        there = at(with_ledger(some, CORNER + 1, 0.12), CORNER + 1)
        assert (there.carried is not None) == carried
    for lost_s, carried in ((0.07, True), (0.05, False)):
        some = with_ledger(made(plain, {"exit": lost_s}), CORNER + 1, 0.12)
        assert (at(some, CORNER + 1).carried is not None) == carried
    # Before corner 1 there is only the line.
    brought = made(plain, {"straight": 0.3}, corner=0)
    assert at(with_ledger(brought, 1, 0.12), 1).carried == Carried(
        0.12, pytest.approx(0.01), 0, "straight"
    )


def test_a_lap_against_itself_lost_nothing_anywhere(world: World) -> None:
    lap = world.session.timed_laps[0]
    found = why(world.session.compare(lap, lap))
    assert [one.corner for one in found] == list(range(11))
    assert not any(one.clear or one.cause or one.carried for one in found)


def test_sums_are_the_difference_and_swapping_flips_the_sign(world: World) -> None:
    a, b = world.session.timed_laps[:2]
    c = world.session.compare(a, b)
    one, two = why(c), why(world.session.compare(b, a))
    assert sum(k.lost_s for k in one) == pytest.approx(c.time_difference_s, abs=1e-9)
    for mine, other in zip(one, two, strict=True):
        assert mine.lost_s == pytest.approx(-other.lost_s, abs=1e-9)
        if mine.clear and abs(mine.lost_s) > 3.0 * mine.lost_sd_s:
            assert (mine.cause, mine.cause_s) == (other.cause, pytest.approx(-other.cause_s))
            assert [k.name for k in mine.shown_by] == [k.name for k in other.shown_by]


def test_without_corners_there_is_nothing_to_say(plain: Comparison) -> None:
    bare = replace(plain.track, corners=())
    assert (
        why(replace(plain, track=bare, causes_of=lambda: (pd.DataFrame(), np.zeros((0, 0))))) == ()
    )

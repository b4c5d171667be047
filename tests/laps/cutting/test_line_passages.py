"""The logger's own clock in the times of a session: what carries it, and where it cancels."""

from dataclasses import replace

import numpy as np
import pytest
from worlds import World

from lapwright.motion.clock_rate import QUARTZ_SD, rate_sd
from lapwright.session import Session


def timed(session: Session) -> list[int]:
    return [int(n) for n in session.laps.loc[session.laps["kind"] == "timed", "lap"]]


@pytest.fixture(scope="module")
def quartz(world: World) -> Session:
    """The same session, counted on the logger's own clock."""
    return Session(replace(world.log, own_clock=True), world.session.shared_track)


@pytest.fixture(scope="module")
def kept(world: World) -> Session:
    return Session(replace(world.log, own_clock=False), world.session.shared_track)


def test_only_an_own_clock_has_a_rate(world: World) -> None:
    assert rate_sd(replace(world.log, own_clock=False)) == 0.0
    assert rate_sd(replace(world.log, own_clock=True)) == QUARTZ_SD


def test_a_lap_time_carries_the_clock(quartz: Session, kept: Session) -> None:
    with_clock, without = (s.laps[s.laps["kind"] == "timed"] for s in (quartz, kept))
    extra = with_clock["time_s"] * QUARTZ_SD
    both = np.hypot(without["time_sd_s"], extra)
    # Mixtures of normals: the halves of their central intervals do not add up exactly.
    np.testing.assert_allclose(with_clock["time_sd_s"], both, rtol=0.02)
    assert (with_clock["time_sd_s"] > 1.005 * without["time_sd_s"]).all()
    for mine, plain in zip(with_clock["sector_sds_s"], without["sector_sds_s"], strict=True):
        assert (np.array(mine) > np.array(plain)).all()
    np.testing.assert_array_equal(with_clock["time_s"], without["time_s"])
    assert quartz.theoretical_best is not None
    assert kept.theoretical_best is not None
    assert quartz.theoretical_best[1] > kept.theoretical_best[1]


def test_in_the_difference_of_two_laps_of_a_session_the_clock_cancels(
    quartz: Session, kept: Session
) -> None:
    a, b = timed(quartz)[:2]
    mine, plain = quartz.compare(a, b), kept.compare(a, b)
    difference = abs(mine.time_difference_s)
    assert difference < 3.0
    most = np.hypot(plain.delta["delta_sd_s"], 3.0 * QUARTZ_SD)
    assert (mine.delta["delta_sd_s"] <= most + 1e-7).all()
    np.testing.assert_allclose(
        mine.ledger["difference_sd_s"], plain.ledger["difference_sd_s"], atol=1e-4
    )
    assert mine.ledger["difference_s"].sum() == pytest.approx(mine.time_difference_s, abs=1e-9)
    assert quartz.compare(a, a).delta["delta_sd_s"].max() == 0.0


def test_in_the_difference_of_two_sessions_each_clock_counts(
    quartz: Session, kept: Session
) -> None:
    a, b = timed(quartz)[:2]
    lap_s = float(quartz.row(a)["time_s"])
    neither = kept.compare(a, b, other=Session(kept.log, kept.shared_track))
    one = quartz.compare(a, b, other=kept)
    both = quartz.compare(a, b, other=Session(quartz.log, quartz.shared_track))
    var = [c.time_difference_sd_s**2 for c in (neither, one, both)]
    assert var[1] - var[0] == pytest.approx((lap_s * QUARTZ_SD) ** 2, rel=0.02)
    assert var[2] - var[0] == pytest.approx(2.0 * (lap_s * QUARTZ_SD) ** 2, rel=0.05)


def test_the_noise_says_so(quartz: Session, kept: Session) -> None:
    assert quartz.noise.clock_sd_ppm == pytest.approx(1e6 * QUARTZ_SD)
    assert kept.noise.clock_sd_ppm == 0.0

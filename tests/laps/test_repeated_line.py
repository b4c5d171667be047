"""The road as a sensor: that it helps, and that it does not flatter itself."""

from pathlib import Path

import numpy as np
import pytest
from motion_oracles import place_contrasts
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.laps import repeated_line as road
from lapwright.laps.repeated_line import DriverNoise, deviation_cov, repeats_of
from lapwright.motion.kalman.pseudo_measurements import whitening
from lapwright.session import Session

# No velocity: here the road has most to say.
POSITIONS_ONLY = sim.Receiver(velocity="none")


@pytest.fixture(scope="module")
def positions_only(tmp_path_factory: pytest.TempPathFactory) -> World:
    return make_world(
        tmp_path_factory.mktemp("road"), sim.Plan((8,)), receiver=POSITIONS_ONLY, seed=11
    )


def errors(world: World, session: Session) -> tuple[np.ndarray, np.ndarray]:
    other = World(world.run, world.log, world.zero_s, world.track, session)
    pairs = other.paired()
    pairs = pairs[pairs["kind"] == "timed"]
    return (pairs["time_s"] - pairs["time_s_true"]).to_numpy(), pairs["time_sd_s"].to_numpy()


def test_it_narrows_the_bars_and_they_stay_true(positions_only: World) -> None:
    with_road, sd_with = errors(positions_only, positions_only.session)
    alone = Session(positions_only.log, positions_only.track, repeat_line=False)
    without, sd_without = errors(positions_only, alone)
    assert sd_with.mean() < 0.8 * sd_without.mean()
    assert np.sqrt(np.mean((with_road / sd_with) ** 2)) < 1.8
    assert np.abs(with_road).mean() < np.abs(without).mean()


def test_it_can_be_switched_off_and_needs_three_laps(world: World, tmp_path: Path) -> None:
    assert Session(world.log, world.track, repeat_line=False).driver_noise is None
    short = make_world(tmp_path, sim.Plan((1,), start="rolling", end="track"), seed=2)
    assert short.session.driver_noise is None


def test_what_all_laps_share_is_never_narrowed(positions_only: World) -> None:
    session = positions_only.session
    without = session.motion_without_road
    # The mean of the position over whole laps, east: the constant part of the drift.
    laps = session.laps[session.laps["kind"] == "timed"]
    time = np.concatenate(
        [
            np.linspace(a, b, 12, endpoint=False)
            for a, b in zip(laps["start_s"], laps["end_s"], strict=True)
        ]
    )
    weights = np.zeros((len(time), 6))
    weights[:, 0] = 1.0 / len(time)
    total = np.ones((1, len(time)))
    before = without.posterior(time, weights, best_only=True).combined(total).sd[0]
    after = session.motion.posterior(time, weights, best_only=True).combined(total).sd[0]
    # Telling the laps apart tells a little of the common part too, through the drift's own
    # correlation in time, but it is no sensor of it.
    assert after > 0.85 * before


def test_a_new_line_in_one_corner_stays_visible(tmp_path: Path) -> None:
    change = sim.LineChange(corner=2, offset_m=1.5, from_timed_lap=5)
    world = make_world(tmp_path, sim.Plan((8,)), driver=sim.Driver(habits=(change,)), seed=21)
    session = world.session
    apex = world.run.circuit.bends[1].apex_m / world.run.circuit.length_m
    timed = session.laps.loc[session.laps["kind"] == "timed", "lap"].tolist()
    station = apex * session.track.length_m
    traces = [session.trace(n) for n in timed]
    seen = np.array([float(t.at_station("offset_m", station)) for t in traces])
    moments = np.array([float(t.time_at(station)[0]) for t in traces]) + world.zero_s
    true = np.asarray(world.run.offset(moments))
    change = seen[4:].mean() - seen[:4].mean()
    true_change = true[4:].mean() - true[:4].mean()
    assert true_change > 0.8
    # Drift of a metre over minutes would blur this by 0.5 m and more without the other corners.
    assert change == pytest.approx(true_change, abs=0.45)
    error, sd = errors(world, session)
    assert np.sqrt(np.mean((error / sd) ** 2)) < 1.9


def test_a_line_that_migrates_stays_visible(tmp_path: Path) -> None:
    driver = sim.Driver(habits=(sim.LineMigration(offset_m=1.5),))
    world = make_world(tmp_path, sim.Plan((8,)), driver=driver, seed=31)
    session = world.session
    timed = session.laps.loc[session.laps["kind"] == "timed", "lap"].tolist()
    station = np.linspace(0.0, session.track.length_m, 60, endpoint=False)
    first, last = (session.trace(n).at_station("offset_m", station) for n in (timed[0], timed[-1]))
    moved = np.mean(last - first)
    true_moved = _true_offset(world, timed[-1]) - _true_offset(world, timed[0])
    assert abs(true_moved) > 0.8
    assert moved == pytest.approx(true_moved, rel=0.3)
    # The wandering is told from the spread about the line: 1.5 m over some eight laps.
    assert session.driver_noise is not None
    assert session.driver_noise.wander_m > 0.1
    error, sd = errors(world, session)
    assert np.sqrt(np.mean((error / sd) ** 2)) < 1.9


def _true_offset(world: World, lap: int) -> float:
    row = world.session.row(lap)
    time = np.linspace(row["start_s"], row["end_s"], 400) + world.zero_s
    return float(np.mean(world.run.offset(time)))


def test_deviations_of_one_lap_are_alike_and_of_two_laps_are_not(positions_only: World) -> None:
    session = positions_only.session
    state = session.motion.at(session.motion.fix_time_s)
    repeats = repeats_of(session.path, state.time_s, state.position_m, state.speed_mps, most=120)
    assert repeats is not None
    cov = deviation_cov(repeats, DriverNoise(0.4, 60.0, 0.0), session.path.length_m)
    same_lap = repeats.lap[:, None] == repeats.lap
    assert (cov[~same_lap] == 0.0).all()
    assert np.allclose(np.diagonal(cov), 0.4**2 + 0.08**2)
    assert np.linalg.eigvalsh(cov).min() > 0.0


def test_the_short_ways_are_the_long_ones() -> None:
    """What is free of the unknowns says the same as the precision with them integrated out."""
    rng = np.random.default_rng(5)
    place = np.tile(np.arange(4), 3)
    unknowns = np.eye(4)[place]
    residual = rng.normal(size=12)
    contrast = place_contrasts(place)
    likelihoods = []
    for _ in range(2):
        root = rng.normal(size=(12, 12))
        cov = root @ root.T + np.eye(12)
        white, half_log_det = whitening(cov, unknowns)
        precision = white.T @ white
        assert np.allclose(road._pull(cov, unknowns, residual), precision @ residual, rtol=1e-9)
        inner, data = contrast @ cov @ contrast.T, contrast @ residual
        short = -0.5 * data @ np.linalg.solve(inner, data) - 0.5 * np.linalg.slogdet(inner)[1]
        likelihoods.append((-0.5 * residual @ precision @ residual - half_log_det, short))
    # D. A. Harville, Biometrika 61 (1974) 383-385 (from memory): equal but for a constant of the
    # design, so what is compared is the difference between two covariances.
    (long_a, short_a), (long_b, short_b) = likelihoods
    assert long_a - long_b == pytest.approx(short_a - short_b, rel=1e-9)

"""A phone's log: errors that last seconds are found where nothing else shows them."""

import numpy as np
import pytest

from lapwright import simulate as sim
from lapwright.discovery.loop.reference import complete_track
from lapwright.geometry import Track, read_track
from lapwright.session import Session

SEED = 20_001


@pytest.fixture(scope="module")
def drive(tmp_path_factory: pytest.TempPathFactory) -> tuple[sim.TrueRun, Track]:
    circuit = sim.invented(3)
    run = sim.drive(circuit, sim.KART, sim.Driver(), sim.Plan((9,)), seed=2)
    file = tmp_path_factory.mktemp("phone") / "track.geojson"
    sim.write_track(circuit, file)
    return run, read_track(file)


def session(drive: tuple[sim.TrueRun, Track], kind: str, seed: int = SEED) -> Session:
    run, track = drive
    log = sim.receive(run, sim.NOISE_KINDS[kind], seed).log()
    return Session(log, complete_track(track, log))


@pytest.mark.parametrize(
    ("kind", "least_m"),
    # Of the 2.5 m a speed from the positions hides a part: its own smoothing looks like news.
    [("phone, positions only", 1.8), ("phone, speed from positions", 1.0)],
)
def test_bars_know_of_errors_that_nothing_contradicts(
    drive: tuple[sim.TrueRun, Track], kind: str, least_m: float
) -> None:
    mine = session(drive, kind)
    lasting_m = mine.noise.lasting_sd_m
    assert least_m < lasting_m < 3.2
    laps = mine.laps[mine.laps["kind"] == "timed"]
    speed = mine.motion.at(laps["start_s"].to_numpy()).speed_mps
    # Two crossings, each with that error over the speed.
    assert (laps["time_sd_s"].to_numpy() > 0.9 * np.sqrt(2.0) * lasting_m / speed).all()


def test_a_speed_of_its_own_speaks_for_itself(drive: tuple[sim.TrueRun, Track]) -> None:
    mine = session(drive, "phone")
    assert mine.noise.lasting_sd_m == 0.0
    # The drift that goes with it has taken the errors in.
    assert mine.motion.best.smoothing.noise.drift_tau_s < 60.0


def test_an_ordinary_receiver_has_none_to_speak_of(drive: tuple[sim.TrueRun, Track]) -> None:
    lasting_m = session(drive, "positions only").noise.lasting_sd_m
    assert lasting_m < 0.3


@pytest.mark.parametrize("seed", [SEED, 30_017])
def test_a_phone_in_its_pit_box_is_not_on_a_timed_lap(
    drive: tuple[sim.TrueRun, Track], seed: int
) -> None:
    run = drive[0]
    mine = session(drive, "phone, positions only", seed)
    assert mine.laps["kind"].iloc[0] == "out"
    assert (mine.laps["kind"] == "timed").sum() == (run.laps["kind"] == "timed").sum()

"""The proposed start/finish line, judged by the lap times that come of it."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from lapwright import simulate as sim
from lapwright.discovery.discover import discover_track
from lapwright.geometry.trackfile.read_write import read_track
from lapwright.session import Session


def errors_s(session: Session, truth: pd.DataFrame, zero_s: float) -> np.ndarray:
    """Errors of the timed laps' times against the truth at the very same line."""
    truth = truth[truth["kind"] == "timed"]
    laps = session.laps[session.laps["kind"] == "timed"]
    began_s = truth["start_s"].to_numpy() - zero_s
    which = np.abs(laps["start_s"].to_numpy()[:, None] - began_s).argmin(axis=1)
    assert np.abs(laps["start_s"].to_numpy() - began_s[which]).max() < 0.5
    return laps["time_s"].to_numpy() - truth["time_s"].to_numpy()[which]


@pytest.mark.parametrize(
    ("circuit", "rate_hz", "velocity"), [("wren_hollow", 10.0, "both"), (211, 5.0, "speed")]
)
def test_lap_times_are_as_exact_as_at_a_given_line(tmp_path, circuit, rate_hz, velocity) -> None:
    circuit = sim.invented(circuit)
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((3, 3)), seed=21)
    receiver = replace(sim.ORDINARY, rate_hz=rate_hz, velocity=velocity)
    recording = sim.receive(run, receiver, seed=22)
    log = recording.log()
    sim.write_track(circuit, tmp_path / "given.geojson")
    found = discover_track(log).track
    given = read_track(tmp_path / "given.geojson")
    rmse_s, claimed_s = [], []
    for track in (given, found):
        session = Session(log, track, repeat_line=False)
        line_m = circuit.to_plane(np.array(track.start_finish_deg))
        errors = errors_s(session, run.laps_at(line_m), recording.zero_s)
        assert len(errors) == 6
        rmse_s.append(float(np.sqrt(np.mean(errors**2))))
        claimed_s.append(session.laps.loc[session.laps["kind"] == "timed", "time_sd_s"].mean())
    # Over 20 sessions of 8 laps the ratio of the two is 0.99, and 0.8 to 1.35 in one of them:
    # the same fixes at another place. A line in a slow corner would be off by more.
    assert rmse_s[1] < 1.35 * rmse_s[0]
    assert claimed_s[1] < 1.1 * claimed_s[0]
    assert rmse_s[1] < 2.0 * claimed_s[1]


def test_line_is_where_cars_are_fast() -> None:
    # The same error of position costs the less time the quicker the car goes by.
    circuit = sim.invented("wren_hollow")
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((4,)), seed=23)
    track = discover_track(sim.receive(run, sim.ORDINARY, seed=24).log()).track
    line_m = circuit.to_plane(np.array(track.start_finish_deg))
    laps = run.laps_at(line_m)
    timed = laps[laps["kind"] == "timed"]
    at_line_mps = run.speed(timed["start_s"].to_numpy()[1:])
    mean_mps = circuit.length_m / timed["time_s"].mean()
    assert at_line_mps.min() > 1.2 * mean_mps

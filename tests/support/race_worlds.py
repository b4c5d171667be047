"""Two cars in one simulated race, with exact truth: launch, pit stops, a lap held up, gaps."""

import tempfile
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright import simulate as sim
from lapwright.geometry import Gate, Track, read_track
from lapwright.session import Session

ZERO_UTC = pd.Timestamp("2026-03-01T02:00:00Z")
# A driver who does not settle in, so that the trend of the lap times is the planted one.
DRIVER = sim.Driver(pace=0.97, settling=0.0, fade_per_lap=0.002)
HELD_UP_LAP, STOP_S = 4, 22.0


@dataclass(frozen=True, eq=False)
class Raced:
    """A true run, the session estimated from its log, and what to add to log times for the run."""

    run: sim.TrueRun
    session: Session
    zero_s: float

    def first_reached_s(self, speed_mps: float) -> float:
        """True time from the launch to a speed."""
        assert self.run.launch_s is not None
        since_s = np.arange(0.0, 30.0, 0.001)
        return float(since_s[np.argmax(self.run.speed(self.run.launch_s + since_s) >= speed_mps)])

    def crossed_s(self, gate: Gate) -> np.ndarray:
        """True times of a gate's forward crossings, on the log's axis."""
        ends = [self.session.track.plane.point_deg(end) for end in (gate.left_m, gate.right_m)]
        table = self.run.crossings(self.run.circuit.to_plane(np.array(ends)))
        return table.loc[table["forward"], "time_s"].to_numpy() - self.zero_s

    def stood_s(self) -> list[tuple[float, float]]:
        """When the car truly stood in a pit stop, on the log's axis."""
        pairs = zip(self.run.stop_times_s, self.run.layout.stops, strict=True)
        return [
            (a - self.zero_s, b - self.zero_s)
            for (a, b), stop in pairs
            if stop.why == "pit stop" and a > 60.0 and b < self.run.duration_s - 60.0
        ]


@cache
def circuit_and_track() -> tuple[sim.Circuit, Track]:
    """Wren Hollow, and its track file."""
    circuit = sim.invented("wren_hollow")
    with tempfile.TemporaryDirectory() as folder:
        sim.write_track(circuit, Path(folder) / "track.geojson")
        return circuit, read_track(Path(folder) / "track.geojson")


def plan_of(stints: tuple[int, ...], grid_m: float, *events: sim.HeldUp) -> sim.Plan:
    """A race from the grid."""
    return sim.Plan(
        stints, start="grid", stop_s=STOP_S, garage_s=20.0, grid_m=grid_m, events=events
    )


def raced(
    plan: sim.Plan, seed: int, *, driver: sim.Driver = DRIVER,
    receiver: sim.Receiver = sim.ORDINARY, launch_s: float | None = None,
    track: Track | None = None,
) -> Raced:  # fmt: skip
    """Drive and log a race; ``launch_s`` sets the launch on the clock that all cars share."""
    circuit, own = circuit_and_track()
    run = sim.drive(circuit, sim.LIGHT_CAR, driver, plan, seed=seed)
    recording = sim.receive(run, receiver, seed=seed + 10)
    assert run.launch_s is not None or launch_s is None
    later_s = 0.0 if launch_s is None or run.launch_s is None else launch_s - run.launch_s
    zero_utc = ZERO_UTC + pd.Timedelta(recording.zero_s + later_s, unit="s")
    log = replace(
        recording.log(), start_utc=zero_utc, time_scale="utc", path=Path(f"car_{seed}.csv")
    )
    return Raced(run, Session(log, own if track is None else track), recording.zero_s)


@cache
def mine() -> Raced:
    """Seven laps and one, with a lap held up on the straight by a car in front."""
    held_up = sim.HeldUp(HELD_UP_LAP, 0.02, 200.0, 40.0)
    return raced(plan_of((7, 1), 22.0, held_up), 1)


@cache
def theirs() -> Raced:
    """The other car: it starts in front, stops two laps earlier and is a little quicker."""
    first = mine()
    driver = replace(DRIVER, pace=0.972)
    return raced(
        plan_of((5, 3), 14.0), 2, driver=driver, launch_s=first.run.launch_s,
        track=first.session.shared_track,
    )  # fmt: skip

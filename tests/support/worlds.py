"""Simulated sessions with exact truth, for any test that needs one."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from lapwright import simulate as sim
from lapwright.geometry import Track, read_track
from lapwright.ingest.log import Log
from lapwright.session import Session


@dataclass(frozen=True)
class World:
    """A true run, what a receiver made of it, and the session estimated from that."""

    run: sim.TrueRun
    log: Log
    zero_s: float
    track: Track
    session: Session

    def paired(self) -> pd.DataFrame:
        """Laps of the session beside the true laps that begin at the same time (within 1 s)."""
        true = self.run.laps.assign(start_s=self.run.laps["start_s"] - self.zero_s)
        true = true.dropna(subset=["start_s", "time_s"]).sort_values("start_s")
        mine = self.session.laps.dropna(subset=["time_s"]).sort_values("start_s")
        both = pd.merge_asof(
            mine, true, on="start_s", direction="nearest", tolerance=1.0, suffixes=("", "_true")
        )
        return both.dropna(subset=["time_s_true"])


def make_world(
    folder: Path,
    plan: sim.Plan,
    *,
    circuit: sim.Circuit | None = None,
    driver: sim.Driver | None = None,
    receiver: sim.Receiver = sim.ORDINARY,
    seed: int = 1,
    repeat_line: bool = True,
    engine: bool = False,
) -> World:
    """Drive, receive and cut into laps, with the circuit's own lines."""
    circuit = sim.invented("wren_hollow") if circuit is None else circuit
    run = sim.drive(circuit, sim.LIGHT_CAR, driver or sim.Driver(), plan, seed=seed)
    recording = sim.receive(run, receiver, seed=seed + 1, engine=engine)
    sim.write_track(circuit, folder / "track.geojson")
    track = read_track(folder / "track.geojson")
    log = recording.log()
    return World(run, log, recording.zero_s, track, Session(log, track, repeat_line=repeat_line))


def moved_log(log: Log, track: Track, matrix: np.ndarray, shift_m: np.ndarray) -> Log:
    """The same log in a rotated, mirrored or translated world, on the track's plane."""
    fixes = log.fixes
    east, north = track.plane.to_metres(fixes["lat_deg"].to_numpy(), fixes["lon_deg"].to_numpy())
    position = np.stack([east, north]).T @ matrix.T + shift_m
    lat, lon = track.plane.to_degrees(position[:, 0], position[:, 1])
    course = np.deg2rad(fixes["course_deg"].to_numpy())
    way = np.stack([np.sin(course), np.cos(course)]).T @ matrix.T
    turned = np.mod(np.rad2deg(np.arctan2(way[:, 0], way[:, 1])), 360.0)
    return replace(log, fixes=fixes.assign(lat_deg=lat, lon_deg=lon, course_deg=turned))

"""The sessions whose reports are read back: the five samples, and simulated ones with troubles."""

import tempfile
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

from session_truth import Truth
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.discovery import start_line_at_time
from lapwright.geometry import read_track
from lapwright.ingest import read_log
from lapwright.notes.weekend_notes import LogNotes, read_notes
from lapwright.session import Session
from lapwright.wording.coaching.worth_trying import Advice, advice_in_words

SAMPLE_FOLDER = Path(__file__).parents[2] / "sample_sessions"
SAMPLES = (
    "friday_test.csv", "friday_test_ivo.nmea", "saturday_practice.csv", "saturday_qualifying.gpx",
    "sunday_race.csv",
)  # fmt: skip
# Five fixes a second are enough to be read back, and half the work.
_SPARSE = replace(sim.ORDINARY, rate_hz=5.0)


def _world(
    plan: sim.Plan, seed: int, receiver: sim.Receiver = _SPARSE, circuit: str = "wren_hollow"
) -> World:
    there = sim.invented(circuit)
    with tempfile.TemporaryDirectory() as folder:
        return make_world(Path(folder), plan, circuit=there, receiver=receiver, seed=seed)


@cache
def _gap() -> Session:
    """Five laps; fixes are missing for 7 s in the second, which loses its standing."""
    session = _world(sim.Plan((5,)), 11, replace(_SPARSE, gaps=((330.0, 7.0),))).session
    path = Path("gap.csv")
    return Session(replace(session.log, path=path), session.shared_track)


def _one_corner() -> Session:
    """The same laps by a track file that knows a single corner."""
    session = _gap()
    track = session.shared_track
    corner = replace(track.corners[3], order=1, name="1")
    return Session(session.log, track.with_corners((corner,)))


def _missing_passes() -> Session:
    """The same laps with the line at a corner's slowest point: some laps lack that corner."""
    session = _gap()
    here = session.passes[session.passes["corner"] == 4].sort_values("min_speed_station_m")
    moment = float(here["min_speed_s"].iloc[2])
    track = start_line_at_time(session.log, f"{moment:.2f}", session.shared_track)
    return Session(session.log, track)


def _spin() -> Session:
    return _world(sim.Plan((5,), events=(sim.Spin(3, corner=4),)), 12).session


def _no_velocity() -> Session:
    return _world(sim.Plan((4,)), 13, replace(_SPARSE, velocity="none")).session


def _one_lap() -> Session:
    return _world(sim.Plan((1,)), 14).session


def _no_clean_lap() -> Session:
    return _world(sim.Plan((1,), events=(sim.Spin(1, corner=4),)), 15).session


def _three_laps() -> Session:
    return _world(sim.Plan((3,)), 16).session


def _no_best_lap() -> Session:
    """The only lap has a gap, so it counts as nothing."""
    return _world(sim.Plan((1,)), 17, replace(_SPARSE, gaps=((220.0, 7.0),))).session


def _slow_lap() -> Session:
    """One of three laps behind another car, at a pace that needs no brakes."""
    held_up = sim.Traffic(2, begins=0.05, ends=0.95, pace=0.45)
    return _world(sim.Plan((3,), events=(held_up,)), 19).session


def _circle() -> Session:
    """Round and round a circle, with hardly a point at which the throttle comes on."""
    plan = sim.Plan((4,), start="rolling", end="track")
    return _world(plan, 18, circuit="circle").session


_SIMULATED: dict[str, Callable[[], Session]] = {
    "gap": _gap, "one_corner": _one_corner, "missing_passes": _missing_passes, "spin": _spin,
    "no_velocity": _no_velocity, "one_lap": _one_lap, "no_clean_lap": _no_clean_lap,
    "three_laps": _three_laps, "no_best_lap": _no_best_lap,
    "slow_lap": _slow_lap, "circle": _circle,
}  # fmt: skip
NAMES = (*SAMPLES, *_SIMULATED)


@cache
def session_of(name: str) -> Session:
    """One of the sessions, opened once."""
    if name in _SIMULATED:
        return _SIMULATED[name]()
    track = read_track(SAMPLE_FOLDER / "wren_hollow.geojson")
    return Session(read_log(SAMPLE_FOLDER / name), track, notes=notes_of(name))


def advice_of(name: str, units: str = "km/h") -> Advice:
    """What a session found worth trying, in words."""
    return advice_in_words(session_of(name), units)


@cache
def truth_of(name: str) -> Truth:
    """Numbers of a session, worked out once for all tests."""
    return Truth(session_of(name))


def notes_of(name: str) -> LogNotes:
    """What the weekend notes say of a session."""
    return read_notes(SAMPLE_FOLDER / "weekend.toml").get(name, LogNotes())

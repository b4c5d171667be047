"""A small weekend: two drivers in the dry, one of them in the wet and on a drying track too."""

from dataclasses import replace
from functools import partial
from pathlib import Path

import matplotlib as mpl
import pytest

from lapwright import simulate as sim
from lapwright.discovery import complete_track
from lapwright.geometry import read_track
from lapwright.notes.weekend_notes import LogNotes
from lapwright.report.weekend.data import CircuitData, Entry, WeekendData, gather_circuits
from lapwright.report.weekend.session_facts import CameOf
from lapwright.session import Session
from lapwright.units import Units

mpl.use("Agg")

# Whatever a person or a file says is text, never markup.
NASTY = "<script>window.broken = 1</script> & \"quoted\" 'name' </style> $x_1$"

PLANS: tuple[tuple[str, sim.Plan, sim.Driver, LogNotes], ...] = (
    ("friday", sim.Plan((8,)), sim.Driver(habits=(sim.SlowMinimum(4),)),
     LogNotes(driver="Runa", conditions="dry", tyres="set 1")),
    ("saturday", sim.Plan((4,)), sim.Driver(), LogNotes(driver="Ivo", conditions="dry")),
    ("showers", sim.Plan((4,)), sim.Driver(), LogNotes(driver="runa", conditions="wet")),
    ("drying", sim.Plan((4,)), sim.Driver(), LogNotes(driver="Runa", conditions="drying")),
    ("sunday", sim.Plan((5,)), sim.Driver(),
     LogNotes(driver="Runa", conditions="dry", tyres="set 2", tried=(f"corner 4 {NASTY}",),
              changes=("rear bar softer",))),
    ("single", sim.Plan((1,)), sim.Driver(), LogNotes(driver="Ivo", conditions="dry")),
)  # fmt: skip


@pytest.fixture(scope="session")
def sessions(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Session]:
    """By name, all on one track."""
    folder = tmp_path_factory.mktemp("weekend")
    circuit = sim.invented("wren_hollow")
    sim.write_track(circuit, folder / "track.geojson")
    receiver = replace(sim.ORDINARY, rate_hz=5.0)
    logs = {}
    for seed, (name, plan, driver, _) in enumerate(PLANS, start=61):
        run = sim.drive(circuit, sim.LIGHT_CAR, driver, plan, seed=seed)
        log = sim.receive(run, receiver, seed=seed + 10).log()
        logs[name] = replace(log, path=folder / f"{name}.csv")
    track = complete_track(read_track(folder / "track.geojson"), logs["friday"])
    return {name: Session(logs[name], track, notes=notes) for name, _, _, notes in PLANS}


def entries(sessions: dict[str, Session]) -> list[Entry]:
    """Sessions as logs of a weekend."""
    track_file = Path("track.geojson")
    return [Entry(one.log.path, track_file, partial(_same, one)) for one in sessions.values()]


def _same(session: Session) -> Session:
    return session


def came(session: Session) -> CameOf:
    """Say something of what was tried."""
    if not session.notes.tried:
        return CameOf()
    return CameOf("friday.csv", (f"Corner 4 {NASTY}: quicker.",))


@pytest.fixture(scope="session")
def circuit(sessions: dict[str, Session]) -> CircuitData:
    """What was gathered of it."""
    circuits, failed = gather_circuits(entries(sessions), Units(), came)
    assert failed == ()
    assert len(circuits) == 1
    return circuits[0]


@pytest.fixture(scope="session")
def weekend(circuit: CircuitData) -> WeekendData:
    """The whole weekend, with files that are of no use."""
    named = replace(circuit, track=replace(circuit.track, name=f"Hollow {NASTY}"))
    return WeekendData(
        Path("a <b>folder</b>"),
        (named,),
        (f"broken {NASTY}",),
        ("notes.txt",),
        (),
        (f"Rear bar: 0.2 s {NASTY}",),
    )

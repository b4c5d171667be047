"""A small session with names that try to break out of a notebook."""

from dataclasses import replace
from pathlib import Path

import pytest
from worlds import make_world

from lapwright import simulate as sim
from lapwright.ingest.log import Finding
from lapwright.notes.weekend_notes import LogNotes
from lapwright.session import Session

# Each would end an attribute, a frame, a style or a script if it were not escaped.
NASTY = "<script>top.broken = 1</script> & \"quoted\" 'name' </style></iframe> &quot;&lt;b&gt;"


@pytest.fixture(scope="session")
def session(tmp_path_factory: pytest.TempPathFactory) -> Session:
    """Four timed laps on a circuit with an odd name, from an odd log."""
    folder = tmp_path_factory.mktemp("four")
    world = make_world(folder, sim.Plan((4,)), receiver=replace(sim.ORDINARY, rate_hz=5.0), seed=7)
    path = folder / "a <b>log<b> \" '.csv"
    log = replace(world.log, path=path).with_findings(
        Finding("odd", f"something {NASTY}", ((3, 3),), 1)
    )
    track = replace(world.session.shared_track, name=f"Hollow {NASTY}")
    track = track.with_corner_names({2: f"Old {NASTY}"})
    return Session(log, track, notes=LogNotes(driver=f"Runa {NASTY}"))


@pytest.fixture(scope="session")
def other(session: Session) -> Session:
    """The same laps by another log with a name to match."""
    log = replace(session.log, path=Path(f"{'x' * 40} </iframe> <script>.csv"))
    return Session(log, session.shared_track)

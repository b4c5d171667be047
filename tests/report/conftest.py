"""One session of twenty laps for all reports, with names that try to break out of a page."""

from dataclasses import replace
from pathlib import Path

import matplotlib as mpl
import pytest
from worlds import make_world

from lapwright import simulate as sim
from lapwright.ingest.log import Finding
from lapwright.notes.weekend_notes import LogNotes
from lapwright.report.report_data import ReportData, gather
from lapwright.session import Session

mpl.use("Agg")

# Whatever a person or a file says is text, never markup.
LONG = "_of_the_upper_valley" * 6
NASTY = "<script>window.broken = 1</script> & \"quoted\" 'name' </style> $x_1$"


@pytest.fixture(scope="session")
def session(tmp_path_factory: pytest.TempPathFactory) -> Session:
    """Twenty timed laps with habits, on a circuit with an odd name and an odd log."""
    driver = sim.Driver(habits=(sim.SlowMinimum(4),))
    world = make_world(tmp_path_factory.mktemp("twenty"), sim.Plan((20,)), driver=driver, seed=7)
    log = replace(world.log, path=Path(f"a <b>log</b>{LONG}.csv")).with_findings(
        Finding("odd", f"something {NASTY}", ((3, 3), (10, 12)), 2)
    )
    track = replace(world.session.shared_track, name=f"Hollow {NASTY} {LONG}")
    track = track.with_corner_names({2: "Saint Aldwyn-under-the-Hill, the long way round"})
    return Session(log, track)


@pytest.fixture(scope="session")
def notes() -> LogNotes:
    """Weekend notes of the session."""
    return LogNotes(
        driver=f"Runa {NASTY}", car="Brackel Wisp", conditions="dry",
        changes=("rear bar softer",), tried=(f"corner 4 {NASTY}",),
    )  # fmt: skip


@pytest.fixture(scope="session")
def material(session: Session, notes: LogNotes) -> ReportData:
    """What the reports are made of."""
    return gather(session, reference=int(session.laps["lap"].iloc[2]), notes=notes)

"""
What is held to the promises: each reader, run on a file, its result looked at.

Nothing but the readers is imported: the fuzzer instruments all that is.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from damage.promises import BrokenPromise, check_sentence
from lapwright.geometry import read_track
from lapwright.geometry.trackfile.read_write import write_track
from lapwright.ingest import read_log
from lapwright.ingest.csv.column_map import read_column_map
from lapwright.ingest.invariants import broken_invariants
from lapwright.ingest.log import Log
from lapwright.notes.check import notes_oddities
from lapwright.notes.limits import read_limits
from lapwright.notes.time_zone import time_zone_for
from lapwright.notes.weekend_notes import read_notes, write_worth_trying

# What column maps are tried on.
_MAPPED = b"time (s),latitude,longitude,speed (km/h)\n" + b"".join(
    b"%d.5,52.%04d,5.0,100\n" % (second, second) for second in range(10)
)


@dataclass(frozen=True, slots=True)
class Target:
    """One reader: the file name it is given, and what is run."""

    file_name: str
    run: Callable[[Path], object]


def log(path: Path) -> Log:
    """Read a log and look at what came of it."""
    found = read_log(path)
    check_log(found)
    return found


def check_log(found: Log) -> None:
    """Hold a log against what its description promises, and its findings against each other."""
    wrong = broken_invariants(found)
    if wrong:
        msg = f"log: {'; '.join(wrong)}"
        raise BrokenPromise(msg)
    for one in found.findings:
        check_sentence(one.message)
        if one.count < 1:
            msg = f"finding: {one}"
            raise BrokenPromise(msg)


def track(path: Path) -> None:
    """Read a track file; what is written of it can be read again."""
    found = read_track(path)
    again = path.with_name("again.geojson")
    write_track(found, again)
    if read_track(again).start_finish is None:
        msg = "track: the line is lost"
        raise BrokenPromise(msg)


def notes(path: Path) -> None:
    """Read weekend notes and everything that is read of them, and write into a copy."""
    log_path = path.with_name("a.csv")
    time_zone_for(log_path)
    found = read_notes(path)
    for sentence in notes_oddities(path):
        check_sentence(sentence)
    copy = path.with_name("copy.toml")
    copy.write_bytes(path.read_bytes())
    write_worth_trying(copy, "a.csv", [])
    if list(read_notes(copy)) != list(found):
        msg = f"notes: {list(found)} became {list(read_notes(copy))}"
        raise BrokenPromise(msg)
    read_limits(path)


def column_map(path: Path) -> None:
    """Read a column map, and a log by it."""
    read_column_map(path)
    file = path.with_name("mapped.csv")
    if not file.exists():
        file.write_bytes(_MAPPED)
    check_log(read_log(file, columns=path))


TARGETS = {
    "csv": Target("log.csv", log),
    "gpx": Target("log.gpx", log),
    "nmea": Target("log.nmea", log),
    "track": Target("track.geojson", track),
    "notes": Target("weekend.toml", notes),
    "map": Target("columns.toml", column_map),
}

"""Readers of other people, by entry points; looked up only when they are needed."""

from importlib.metadata import EntryPoint
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright.batch import logs_in
from lapwright.errors import LogError
from lapwright.ingest import ColumnReading, Finding, Recording, plug_ins, read_log
from lapwright.ingest.read import read_kept
from lapwright.kept import Store


class Binary:
    """Reads a made-up format: four bytes of name, then float64 triples."""

    @staticmethod
    def claims(path: Path, head: bytes) -> bool:
        return head.startswith(b"\x00\x01MY")

    @staticmethod
    def read(path: Path) -> Recording:
        table = np.frombuffer(path.read_bytes()[4:], np.float64).reshape(-1, 3)
        line = np.arange(1, len(table) + 1)
        time_ns = np.rint(table[:, 0] * 1e9).astype(np.int64)
        return Recording("my_logger", line, time_ns, "relative", table[:, 1], table[:, 2])


class Broken(Binary):
    """Claims the file and fails."""

    @staticmethod
    def read(path: Path) -> Recording:
        msg = "no such table"
        raise KeyError(msg)


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "log.bin"
    k = np.arange(50.0)
    table = np.column_stack([k / 10, 51.5 + k * 1e-5, np.full(50, 7.1)])
    path.write_bytes(b"\x00\x01MY" + table.tobytes())
    return path


@pytest.fixture
def install(monkeypatch):
    def installer(**readers) -> list[str]:
        asked = []

        def find(group: str):
            asked.append(group)
            points = [
                EntryPoint(name, f"{__name__}:{r.__name__}", group) for name, r in readers.items()
            ]
            return points

        monkeypatch.setattr(plug_ins, "entry_points", find)
        monkeypatch.setattr(EntryPoint, "load", lambda point: readers[point.name])
        return asked

    return installer


def test_a_plug_in_reads_what_we_cannot(file, install) -> None:
    asked = install(my_logger=Binary)
    log = read_log(file)
    assert asked == ["lapwright.readers"]
    assert log.reader == "my_logger"
    assert len(log.fixes) == 50


def test_what_a_plug_in_reads_is_read_every_time(file, install, tmp_path) -> None:
    # Nobody but its makers knows what it depends on.
    asked = install(my_logger=Binary)
    store = Store(tmp_path / "cache")
    for _ in range(2):
        assert len(read_kept(store, file).fixes) == 50
    assert len(asked) == 2


def test_without_a_plug_in_our_own_error_stands(file, install) -> None:
    install()
    with pytest.raises(LogError, match="binary"):
        read_log(file)


def test_a_plug_in_that_fails_is_named(file, install) -> None:
    install(other=Broken)
    with pytest.raises(LogError, match=r"'other' failed .KeyError"):
        read_log(file)


def test_plug_ins_are_not_asked_for_what_we_read(tmp_path, install) -> None:
    asked = install(my_logger=Binary)
    path = tmp_path / "log.csv"
    path.write_text("time,lat,lon\n" + "".join(f"{k},51.5,7.{k:03d}\n" for k in range(20)))
    assert read_log(path).reader == "csv"
    with pytest.raises(LogError, match="no such file"):
        read_log(tmp_path / "none.csv")
    assert asked == []


def test_a_folder_search_finds_what_a_plug_in_reads(file, install, tmp_path) -> None:
    (tmp_path / "picture.png").write_bytes(b"\x89PNG not a log")
    install()
    with pytest.raises(LogError, match="no log in this folder"):
        logs_in(tmp_path)
    install(my_logger=Binary)
    assert logs_in(tmp_path) == [file]


def test_a_plug_in_that_fails_claims_nothing_in_a_folder(file, install, tmp_path) -> None:
    class Confused(Binary):
        @staticmethod
        def claims(path: Path, head: bytes) -> bool:
            raise RuntimeError

    install(confused=Confused)
    with pytest.raises(LogError, match="no log in this folder"):
        logs_in(tmp_path)


def test_a_recording_refuses_nonsense() -> None:
    k = np.arange(3)
    with pytest.raises(ValueError, match="give one of"):
        Recording("x", k, k, "tai", k * 1.0, k * 1.0)
    with pytest.raises(ValueError, match="lat_deg has 2 rows"):
        Recording("x", k, k, "utc", np.zeros(2), np.zeros(3))


def broken(**columns: object):
    """Make a reader whose recording is changed."""

    class Changed(Binary):
        @staticmethod
        def read(path: Path) -> Recording:
            recording = Binary.read(path)
            for name, value in columns.items():
                setattr(recording, name, value)
            return recording

    return Changed


FIFTY = np.arange(50.0)


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ({"time_ns": FIFTY}, "time_ns is of type float64"),
        ({"line": list(range(1, 51))}, "line is no array of one dimension"),
        ({"no_fix": np.zeros(50)}, "no_fix is of type float64"),
        ({"speed": FIFTY[1:]}, "speed has 49 rows, line has 50"),
        ({"speed": FIFTY, "speed_unit": "furlongs"}, "no unit of speed 'furlongs'"),
        ({"measures": {"depth_m": FIFTY}}, "no measures depth_m"),
        ({"channels": {"oil": pd.Series(FIFTY[1:])}}, "channel 'oil' has 49 rows"),
        ({"roles": {"brake": "pedal"}}, "no channels pedal"),
        # Nothing of the recording is out of place, but a column is filled by an impossible share.
        ({"columns": [ColumnReading("oil", "channel", None, 7.0)]}, "made a log that cannot be"),
        ({"findings": [Finding("gap", "x", ((0, 0),))]}, "made a log that cannot be"),
    ],
)
def test_a_plug_in_that_gives_nonsense_is_named(columns, said, file, install) -> None:
    install(my_logger=broken(**columns))
    with pytest.raises(LogError, match=rf"reader 'my_logger' .*{said}"):
        read_log(file)


def test_a_plug_in_that_gives_no_recording_is_named(file, install) -> None:
    class Table(Binary):
        @staticmethod
        def read(path: Path) -> pd.DataFrame:
            return pd.DataFrame({"line": [1]})

    install(my_logger=Table)
    with pytest.raises(LogError, match=r"'my_logger' .* a DataFrame instead of a Recording"):
        read_log(file)


def test_bad_values_of_a_plug_in_are_findings_as_of_any_reader(file, install) -> None:
    speed = FIFTY.copy()
    speed[:3] = np.inf, -1.0, 1e19
    channels = {"oil": pd.Series(np.where(FIFTY == 7, np.inf, 90.0), index=FIFTY[::-1])}
    reader = broken(speed=speed, speed_unit="m/s", channels=channels)
    install(my_logger=reader)
    log = read_log(file)
    assert log.fixes["speed_mps"].isna().tolist() == [True] * 3 + [False] * 47
    assert set(range(1, 51)) - set(log.channels["line"]) == {8}
    assert {"impossible_speed", "unreadable_value"} <= {note.code for note in log.findings}

"""Circuits with odd names have their parts in a season, and no way out of it."""

from pathlib import Path

import pandas as pd
import pyarrow.dataset as ds
import pytest

from lapwright.batch.season import add_to_season
from lapwright.columns import empty
from lapwright.columns.weekend import SESSIONS

NAMES = (
    "../../out",
    "a=b/c",
    "..",
    ".",
    "Wren.",
    "CON",
    "Größe 鈴鹿",
    "%2e%2e",
    "x\x1by",
    "\\\\host\\x",
    "",
)


def added(place: Path, circuit: str, number: int) -> None:
    row = {
        "session": "run", "path": "run.csv", "status": "ok", "track": circuit,
        "start_utc": pd.Timestamp("2026-02-06", tz="UTC"),
    }  # fmt: skip
    whole = pd.concat([empty(SESSIONS), pd.DataFrame([row])], ignore_index=True)
    add_to_season(place, {"sessions": whole}, {"run": f"{number:016x}"})


def test_every_name_reads_back_by_another_reader(tmp_path: Path) -> None:
    place = tmp_path / "deep" / "down" / "season"
    for number, name in enumerate(NAMES):
        added(place, name, number)
    # Hive's way of parts, as pyarrow reads it.
    table = ds.dataset(place / "sessions", partitioning="hive").to_table().to_pandas()
    said = dict(zip(table["log_id"], table["circuit"], strict=True))
    assert said == {f"{k:016x}": name or "unnamed" for k, name in enumerate(NAMES)}
    # Nothing lies anywhere else.
    assert [one.name for one in tmp_path.iterdir()] == ["deep"]
    assert [one.name for one in (tmp_path / "deep" / "down").iterdir()] == ["season"]
    files = [one for one in tmp_path.rglob("*") if one.is_file()]
    assert {len(one.relative_to(place).parts) for one in files} == {4}


@pytest.mark.parametrize("name", ["鈴" * 300, "x" * 1000])
def test_a_very_long_name_has_a_part_too(tmp_path: Path, name: str) -> None:
    added(tmp_path, name, 1)
    added(tmp_path, name + "y", 2)
    assert len(list((tmp_path / "sessions" / "season=2026").iterdir())) == 2


def test_a_circuit_renamed_by_case_alone_keeps_its_part(tmp_path: Path) -> None:
    added(tmp_path, "Wren", 1)
    parts = tmp_path / "sessions" / "season=2026"
    # As on a disk that does not tell cases apart.
    (parts / "circuit=wren").symlink_to(parts / "circuit=Wren")
    added(tmp_path, "wren", 1)
    assert (parts / "circuit=Wren" / f"{1:016x}.parquet").is_file()

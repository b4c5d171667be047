"""One list of formats for reading a file and for finding it."""

import gzip
from pathlib import Path

import pytest

from lapwright.errors import LogError
from lapwright.ingest.csv.column_map import ColumnMap
from lapwright.ingest.registry import FORMATS, LOG_ENDINGS, may_be_log, read_built_in


@pytest.mark.parametrize("ending", LOG_ENDINGS)
@pytest.mark.parametrize("packed", ["", ".gz"])
def test_a_name_that_ends_like_a_log_may_be_one(tmp_path: Path, ending: str, packed: str) -> None:
    path = tmp_path / f"Friday{ending.upper()}{packed}"
    path.write_bytes(b"x")
    assert may_be_log(path)


@pytest.mark.parametrize("name", ["notes.toml", "track.geojson", "csv", "log.csv.bak", "x.gz"])
def test_other_names_are_no_logs(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(b"x")
    assert not may_be_log(path)


def test_every_format_of_ours_is_read_by_its_content_not_its_name(tmp_path: Path) -> None:
    rows = "".join(f"{k},51.5,7.{k:03d}\n" for k in range(20))
    for name in ("friday.gpx", "friday.dat"):
        path = tmp_path / name
        path.write_bytes(gzip.compress(f"time,lat,lon\n{rows}".encode()))
        assert read_built_in(path, ColumnMap()).reader == "csv"
    assert set(FORMATS) == {"csv", "gpx", "nmea"}


def test_text_of_another_kind_is_named(tmp_path: Path) -> None:
    path = tmp_path / "page.csv"
    path.write_text("<!doctype html><html><body>no log</body></html>")
    with pytest.raises(LogError, match="this is HTML text, not a log"):
        read_built_in(path, ColumnMap())

"""One log of a weekend whose name no table can hold costs nobody the others."""

import os
import sys
from pathlib import Path

import pytest

from lapwright.batch.folder import names_in
from lapwright.batch.run import tables_of
from lapwright.batch.tables.laps_and_sessions import write_table
from lapwright.batch.worker import Job, look_at
from lapwright.escaping.unseen import encodable

# How a file name that is not UTF-8 reaches Python: PEP 383.
NAME = os.fsdecode(b"run\xff.csv")


@pytest.mark.skipif(sys.platform != "linux", reason="other systems refuse such a name")
def test_a_name_that_is_not_text_is_a_reason_and_not_an_end(tmp_path: Path) -> None:
    path = tmp_path / NAME
    path.write_text("time,lat,lon\n", encoding="utf-8")
    result = look_at(Job(path))
    assert result.status == "failed"
    assert "its name, or that of its folder, is not UTF-8 text" in result.reason
    made = tables_of({path: result}, {}, names_in([path], tmp_path))
    (row,) = made["sessions"].to_dict("records")
    assert row["path"] == encodable(str(path))
    assert row["session"] == "run[U+DCFF]"
    (csv, *_) = write_table(made["sessions"], tmp_path / "sessions")
    assert "run[U+DCFF]" in csv.read_text(encoding="utf-8")

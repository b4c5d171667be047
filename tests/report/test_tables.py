"""Every table as files: the numbers come back as they were."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright.report import write_tables
from lapwright.report.report_data import ReportData
from lapwright.report.tables import flat_laps, tables
from lapwright.session import Session


@pytest.fixture(scope="module")
def folder(session: Session, tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("tables") / "made" / "here"
    write_tables(session, target)
    return target


NAMES = {"laps", "corners", "passes", "worth_trying", "findings", "delta", "ledger"}


def test_every_table_is_there_in_both_formats(folder: Path) -> None:
    assert {p.name for p in folder.iterdir()} == {
        f"{name}.{kind}" for name in NAMES for kind in ("csv", "parquet")
    }


@pytest.mark.parametrize("name", sorted(NAMES))
def test_both_formats_give_the_table_back(name: str, folder: Path, material: ReportData) -> None:
    table = tables(material)[name].reset_index(drop=True)
    csv = pd.read_csv(folder / f"{name}.csv")
    parquet = pd.read_parquet(folder / f"{name}.parquet")
    assert list(csv.columns) == list(parquet.columns) == list(table.columns)
    for column in table.columns:
        if pd.api.types.is_float_dtype(table[column]):
            # The default reader of pandas is good to a unit in the last place.
            np.testing.assert_allclose(csv[column], table[column], rtol=4e-16, atol=0)
            np.testing.assert_array_equal(parquet[column], table[column])


def test_passes_say_how_much_grip_was_used(session: Session, material: ReportData) -> None:
    table = tables(material)["passes"]
    assert len(table) == len(session.passes)
    clean = table["lap"].isin(material.clean["lap"])
    assert table.loc[~clean, "grip_middle"].isna().all()
    used = session.grip.passes.set_index(["lap", "corner"])["grip_middle"]
    mine = table[clean].set_index(["lap", "corner"])["grip_middle"]
    pd.testing.assert_series_equal(mine.sort_index(), used.sort_index())


def test_line_numbers_are_read_as_such(material: ReportData) -> None:
    lines = tables(material)["findings"].set_index("code")["lines"]
    assert lines["odd"] == "3, 10-12"


def test_laps_have_one_value_a_cell(session: Session) -> None:
    flat = flat_laps(session.laps)
    sectors = 1 + len(session.track.sectors)
    times = flat[[f"sector_{k + 1}_time_s" for k in range(sectors)]]
    done = flat["kind"] == "timed"
    np.testing.assert_allclose(times[done].sum(axis=1), flat.loc[done, "time_s"], atol=1e-9)
    assert not flat.map(lambda cell: isinstance(cell, tuple)).any(axis=None)

"""Every table as files: the numbers come back as they were."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from lapwright.notes.worth_trying_item import WorthTryingInWords
from lapwright.report import write_tables
from lapwright.report.report_data import ReportData
from lapwright.report.tables import flat_laps, tables
from lapwright.session import Session


@pytest.fixture(scope="module")
def folder(session: Session, tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("tables") / "made" / "here"
    write_tables(session, target)
    return target


NAMES = {
    "laps",
    "corners",
    "passes",
    "variation",
    "worth_trying",
    "findings",
    "delta",
    "ledger",
    "causes",
    "achievable",
}


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


def test_sectors_keep_their_number_and_their_error_bar(session: Session) -> None:
    flat = flat_laps(session.laps)
    for k, (times, sds) in enumerate(
        zip(
            session.laps["sectors_s"].iloc[3:4], session.laps["sector_sds_s"].iloc[3:4], strict=True
        )
    ):
        row = flat.iloc[3 + k]
        for sector, (time_s, sd_s) in enumerate(zip(times, sds, strict=True), start=1):
            assert row[f"sector_{sector}_time_s"] == time_s
            assert row[f"sector_{sector}_time_sd_s"] == sd_s
    two = session.laps.copy()
    two.at[two.index[1], "flags"] = ("slow", "gap")
    assert flat_laps(two)["flags"].iloc[1] == "slow gap"


@pytest.mark.parametrize("name", ["delta", "ledger"])
def test_a_comparison_says_of_which_lap_it_is_and_against_which(
    name: str, material: ReportData
) -> None:
    c = material.comparison
    assert c is not None
    table = tables(material)[name]
    assert (table["lap"] == material.usual).all()
    assert (table["reference"] == material.best).all()
    own = c.delta if name == "delta" else c.ledger
    for column in set(table.columns) & set(own.columns):
        assert table[column].tolist() == own[column].tolist()


def test_without_a_comparison_there_is_no_table_of_one(material: ReportData) -> None:
    assert set(tables(replace(material, comparison=None))) == NAMES - {"delta", "ledger", "causes"}


def test_what_is_worth_trying_is_a_row_each(material: ReportData) -> None:
    items = (
        WorthTryingInWords(
            4, "minimum_speed", text="Carry it.", time_at_stake_s=0.2, evidence="4 of 12."
        ),
        WorthTryingInWords(7, "braking", text="Brake there.", time_at_stake_sd_s=0.03),
    )
    table = tables(replace(material, worth_trying=items))["worth_trying"]
    assert table["corner"].tolist() == [4, 7]
    for k, item in enumerate(items):
        for column in table.columns:
            assert table[column].iloc[k] == getattr(item, column)


def test_findings_keep_their_code_count_and_lines(material: ReportData) -> None:
    table = tables(material)["findings"].set_index("code")
    # The fixture's own: lines 3 and 10 to 12.
    assert table.loc["odd", "count"] == 2
    assert table.loc["odd", "message"].startswith("something ")


def test_without_pyarrow_there_is_csv_alone(
    session: Session, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    files = write_tables(session, tmp_path)
    assert {path.name for path in files} == {f"{name}.csv" for name in NAMES}
    assert set(files) == set(tmp_path.iterdir())

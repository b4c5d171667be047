"""
One description a table: what Python, JSON, the files, the page, the terminal and the docs hold.

A column that is added in one place only breaks one of these.  To write the page of columns::

    LAPWRIGHT_WRITE_EXAMPLES=1 python -m pytest -n 0 tests/test_columns.py
"""

import importlib.util
import os
from dataclasses import replace
from pathlib import Path

import json_schemas
import numpy as np
import pandas as pd
import pytest
from lxml import html as lxml_html
from worlds import World

from lapwright.batch.tables.changes import change_table
from lapwright.batch.tables.details import finding_table, pass_table, sector_table
from lapwright.batch.tables.engine import engine_table as engine_of
from lapwright.batch.tables.laps_and_sessions import engine_table, lap_table, session_table
from lapwright.batch.worker import Result, _findings, _laps, _passes
from lapwright.cli.compare import _lines
from lapwright.cli.corners import corner_lines
from lapwright.cli.printing.lap_text import lap_lines
from lapwright.cli.printing.objects import (
    corner_objects,
    delta_object,
    lap_objects,
    ledger_objects,
    log_object,
    pass_objects,
    variation_objects,
)
from lapwright.cli.printing.worth_text import worth_objects
from lapwright.columns import Column, arranged, empty, names, numbered
from lapwright.columns.tables import TABLES
from lapwright.columns.weekend import ENGINE
from lapwright.corners.pass_details import with_details
from lapwright.corners.pass_table import corner_passes, corner_table, with_error_bars
from lapwright.laps.cutting.cuts import Cuts
from lapwright.laps.cutting.pit_stretches import PitStretch
from lapwright.laps.lap_table import lap_table as laps_of
from lapwright.report import write_tables
from lapwright.report.html.page import html
from lapwright.report.report_data import gather
from lapwright.session import Session
from lapwright.units import Units
from lapwright.wording.coaching.worth_trying import advice_in_words
from lapwright.wording.heads import PAGE, PAST_APEX, SCREEN, heads

ROOT = Path(__file__).parents[1]
PAGE_OF_COLUMNS = ROOT / "docs" / "columns.md"
WRITE = os.environ.get("LAPWRIGHT_WRITE_EXAMPLES") == "1"
# What `--json` promises of each table, written down independently of the program.
SCHEMAS = {
    "laps": json_schemas.LAP, "corners": json_schemas.CORNER, "passes": json_schemas.PASS,
    "driver": json_schemas.DRIVER, "driver_laps": json_schemas.DRIVER_LAP,
    "coasting": json_schemas.COASTING, "delta": json_schemas.DELTA, "ledger": json_schemas.STRETCH,
    "causes": json_schemas.CAUSE,
    "variation": json_schemas.VARIES, "achievable": json_schemas.ACHIEVABLE_CORNER,
    "worth_trying": json_schemas.WORTH,
    "findings": json_schemas.FINDING, "car": json_schemas.CAR,
    "car_warnings": json_schemas.CAR_WARNING, "launches": json_schemas.LAUNCH,
    "stints": json_schemas.STINT, "pit_stops": json_schemas.PIT_STOP,
    "held_up": json_schemas.HELD_UP, "car_gaps": json_schemas.CAR_GAP,
    "sessions": json_schemas.WEEKEND["properties"]["sessions"]["items"],
}  # fmt: skip
# What pandas calls the kinds of cells.
KINDS = {float: "f", int: "i", bool: "b", str: "O", object: "O"}


@pytest.fixture(scope="module")
def no_laps(world: World) -> Session:
    """The same log, ending before the first lap is done."""
    first = float(world.session.laps.loc[world.session.laps["kind"] == "timed", "start_s"].iloc[0])
    fixes = world.log.fixes[world.log.fixes["time_s"] < first + 60.0]
    return Session(replace(world.log, fixes=fixes), world.track, repeat_line=False)


@pytest.fixture(scope="module")
def weekend(world: World) -> dict[str, pd.DataFrame]:
    """Tables of a weekend with this session, and one of a log that failed."""
    session = world.session
    good = Result("ok", laps=_laps(session), engine=[], passes=_passes(session),
                  findings=_findings(session))  # fmt: skip
    results = {Path("friday.csv"): good, Path("broken.csv"): Result("failed", "not a log")}
    return {
        "sessions": session_table(results, {}), "weekend_laps": lap_table(results, {}),
        "engine": engine_table(results, {}), "changes": change_table(()),
        "weekend_sectors": sector_table(results, {}),
        "weekend_passes": pass_table(results, {}), "weekend_findings": finding_table(results),
    }  # fmt: skip


def frames(session: Session) -> dict[str, pd.DataFrame]:
    return {
        "laps": session.laps, "corners": session.corners, "passes": session.passes,
        "variation": session.variation,
    }  # fmt: skip


def kinds_are_as_described(table: pd.DataFrame, columns: tuple[Column, ...], place: str) -> None:
    assert list(table.columns) == names(columns, place)
    kinds = {c.name: KINDS[c.holds] for c in columns}
    for name in table:
        assert table[name].dtype.kind == kinds[str(name)], name


def test_tables_of_a_session(world: World) -> None:
    session = world.session
    for name, table in frames(session).items():
        assert len(table)
        kinds_are_as_described(table, TABLES[name], "table")
    comparison = session.compare(int(session.laps["lap"].iloc[2]))
    kinds_are_as_described(comparison.delta, TABLES["delta"], "table")
    kinds_are_as_described(comparison.ledger, TABLES["ledger"], "table")


def test_tables_without_a_timed_lap(no_laps: Session) -> None:
    assert (no_laps.laps["kind"] != "timed").all()
    assert no_laps.passes.empty
    assert no_laps.variation.empty
    for name, table in frames(no_laps).items():
        kinds_are_as_described(table, TABLES[name], "table")


def test_lap_table_without_a_row(world: World) -> None:
    s = world.session
    whole = (PitStretch(s.motion.start_s, s.motion.end_s, s.motion.start_s, stands=True),)
    none = Cuts(s.cuts.passages.iloc[:0], s.cuts.sectors[:0], s.cuts.posterior,
                s.cuts.index[:0], whole)  # fmt: skip
    table = laps_of(s.track, s.motion, s.mapped, none)
    assert table.empty
    kinds_are_as_described(table, TABLES["laps"], "table")


def test_a_circuit_without_corners(world: World) -> None:
    s = world.session
    bare = s.track.with_corners(())
    traces = {int(n): s.trace(int(n)) for n in s.passes["lap"].unique()}
    passes = with_error_bars(bare, s.motion, corner_passes(bare, list(traces.values()), None, None))
    passes = with_details(bare, s.motion, traces, list(traces), passes)
    for name, table in (("corners", corner_table(bare)), ("passes", passes)):
        assert table.empty
        kinds_are_as_described(table, TABLES[name], "table")


def test_where_a_run_has_a_number_it_has_its_error_bar(world: World) -> None:
    passes = world.session.passes
    for column in TABLES["passes"]:
        if column.sd:
            known, sd = passes[column.name].notna(), passes[column.sd]
            assert (sd[known] > 0.0).all(), column.name


@pytest.mark.parametrize("name", TABLES)
def test_every_number_has_an_error_bar_or_a_reason(name: str) -> None:
    columns = TABLES[name]
    bars = {c.sd for c in columns if c.sd}
    by_name = {c.name: c for c in columns}
    assert len(by_name) == len(columns)
    for c in columns:
        assert c.meaning.endswith("."), c.name
        if c.sd:
            assert by_name[c.sd].unit == c.unit, c.name
        if c.holds is float:
            assert bool(c.sd) + bool(c.no_sd) + (c.name in bars) == 1, c.name
        else:
            assert not c.no_sd, c.name
        # An error bar is named as one, and nothing else is.
        assert (c.name in bars) == ("_sd" in c.name), c.name


def test_units_are_those_of_the_names() -> None:
    endings = {"m/s": "_mps", "m": "_m", "m/s²": "_mps2", "°": "_deg", "s/lap": "_s_per_lap",
               "1/min": "_rpm", "bar": "_bar", "l": "_l", "°C": "_degc"}  # fmt: skip
    for columns in TABLES.values():
        for c in columns:
            if c.unit == "s":
                assert c.name.endswith("_s"), c.name
            elif c.unit:
                assert c.name.endswith(endings[c.unit]), c.name
            else:
                assert not c.name.endswith(("_s", *endings.values())), c.name


def test_json(world: World) -> None:
    s = world.session
    comparison = s.compare(int(s.laps["lap"].iloc[2]))
    rows = {
        "laps": lap_objects(s)[0], "corners": corner_objects(s)[0], "passes": pass_objects(s)[0],
        "delta": delta_object(comparison.delta), "ledger": ledger_objects(comparison.ledger)[0],
        "variation": variation_objects(s)[0],
    }  # fmt: skip
    for key, more in (
        ("worth_trying", worth_objects(advice_in_words(s))),
        ("findings", log_object(s.log)["findings"]),
    ):
        rows |= {key: more[0]} if more else {}
    for name, row in rows.items():
        assert list(row) == names(TABLES[name], "json"), name


@pytest.mark.parametrize("name", TABLES)
def test_json_keys_are_those_promised(name: str) -> None:
    promised = set(SCHEMAS[name]["required"]) if name in SCHEMAS else set()
    assert set(names(TABLES[name], "json")) == promised


def test_files(world: World, no_laps: Session, tmp_path: Path) -> None:
    for session in (world.session, no_laps):
        folder = tmp_path / f"{id(session)}"
        write_tables(session, folder)
        sectors = len(session.track.sectors) + 1
        for file in folder.glob("*.csv"):
            columns = numbered(TABLES[file.stem], sectors)
            with file.open(encoding="utf-8") as lines:
                assert lines.readline().strip().split(",") == names(columns, "files")
            parquet = pd.read_parquet(file.with_suffix(".parquet"))
            assert list(parquet.columns) == names(columns, "files")


def test_weekend(world: World, weekend: dict[str, pd.DataFrame]) -> None:
    sectors = len(world.session.track.sectors) + 1
    laps = numbered(TABLES["weekend_laps"], sectors)
    assert len(weekend["weekend_laps"]) == len(world.session.laps)
    assert list(weekend["weekend_laps"]) == names(laps, "weekend")
    assert list(lap_table({}, {})) == names(numbered(TABLES["weekend_laps"], 0), "weekend")
    assert list(weekend["sessions"]) == names(TABLES["sessions"])
    assert list(weekend["engine"]) == names(ENGINE, "weekend")
    assert list(weekend["changes"]) == names(TABLES["changes"])
    for name in ("weekend_sectors", "weekend_passes", "weekend_findings"):
        kinds_are_as_described(weekend[name], TABLES[name], "weekend")
    assert len(weekend["weekend_passes"]) == len(world.session.passes)
    timed = world.session.laps["sectors_s"].map(lambda cells: np.isfinite(cells).sum()).sum()
    assert len(weekend["weekend_sectors"]) == timed
    assert len(weekend["weekend_findings"]) == len(world.session.findings)
    assert list(engine_of(world.log, world.session.laps)) == names(ENGINE)


@pytest.mark.parametrize("name", TABLES)
def test_what_is_shown_has_a_head_and_what_has_a_head_is_shown(name: str) -> None:
    assert set(PAGE.get(name, {})) == set(names(TABLES[name], "page"))
    assert set(SCREEN.get(name, {})) == set(names(TABLES[name], "screen"))
    assert set(PAGE) | set(SCREEN) <= set(TABLES)


def test_columns_of_a_card_have_an_error_bar() -> None:
    by_name = {c.name: c for c in TABLES["passes"]}
    assert all(by_name[name].sd for name in PAGE["passes"] if name != "lap")
    assert all(by_name[name].unit == "m" and name in PAGE["passes"] for name in PAST_APEX)


@pytest.mark.parametrize("units", [Units(), Units("mph", "ft")])
def test_heads_of_the_page(world: World, units: Units) -> None:
    material = gather(world.session)
    page = lxml_html.fromstring(html(material, units))
    cells = [
        [" ".join(cell.text_content().split()) for cell in head.xpath(".//th")]
        for head in page.xpath("//thead")
    ]
    sectors = len(world.session.track.sectors) + 1
    assert heads(PAGE, "laps", units, sectors) in cells
    kinds = {"m/s": units.speed, "m": units.distance, "m/s²": "g", "s": "s", "": ""}
    by_name = {c.name: c for c in TABLES["passes"]}
    wanted = []
    for name, head in PAGE["passes"].items():
        unit = kinds[by_name[name].unit]
        wanted.append(" ".join(f"{head} [{unit}]".split()) if unit else head)
    assert cells.count(wanted) == len(world.session.corners)


def test_heads_of_the_terminal(world: World) -> None:
    s, units = world.session, Units("mph", "ft")
    sectors = len(s.track.sectors) + 1
    compared = _lines(s.compare(int(s.laps["lap"].iloc[2])), s.track, units)
    said = [line for text in (*lap_lines(s, units), *corner_lines(s, units), *compared)
            for line in text.splitlines()]  # fmt: skip
    for wanted in (
        heads(SCREEN, "laps", units, sectors), heads(SCREEN, "delta", units),
        ["corner", "radius", "min mph", "spread", "best", "brake", "time s", "spread", "best"],
    ):  # fmt: skip
        words = " ".join(text for text in wanted if text)
        assert words in [" ".join(line.split()) for line in said]


def test_page_of_columns() -> None:
    place = importlib.util.spec_from_file_location(
        "columns_page", ROOT / "docs" / "_ext" / "columns_page.py"
    )
    assert place is not None
    assert place.loader is not None
    module = importlib.util.module_from_spec(place)
    place.loader.exec_module(module)
    text = module.columns_page()
    if WRITE:
        PAGE_OF_COLUMNS.write_text(text, encoding="utf-8")
    assert PAGE_OF_COLUMNS.read_text(encoding="utf-8") == text
    # Every column of every table, none twice in one.
    sections = text.split("\n## ")[1:]
    assert len(sections) == len(TABLES)
    for (name, columns), part in zip(TABLES.items(), sections, strict=True):
        rows = [line.split("`")[1] for line in part.splitlines() if line.startswith("| `")]
        weekend = name.startswith("weekend_") or name in ("engine", "season")
        wanted = [c.name.replace("{k}", "K") for c in columns if weekend or c.shown != "weekend"]
        assert rows == wanted


def test_a_column_in_one_place_only_is_an_error(world: World) -> None:
    passes = world.session.passes
    with pytest.raises(ValueError, match=r"not described: \['new_m'\]"):
        arranged(passes.assign(new_m=1.0), TABLES["passes"])
    with pytest.raises(ValueError, match=r"not computed: \['new_m'\]"):
        arranged(passes, (*TABLES["passes"], Column("new_m", "m", "New.")))


def test_a_description_refuses_nonsense() -> None:
    with pytest.raises(ValueError, match="no such place: wall"):
        Column("new_m", "m", "New.", shown="table wall")
    with pytest.raises(ValueError, match="either it has an error bar"):
        Column("new_m", "m", "New.", sd="new_sd_m", no_sd="none")


def test_sectors_stand_side_by_side() -> None:
    columns = numbered(TABLES["weekend_laps"], 10)
    sectors = [name for name in names(columns, "weekend") if name.startswith("sector_")]
    assert sectors[:3] == ["sector_1_s", "sector_1_sd_s", "sector_2_s"]
    assert sectors[-1] == "sector_10_sd_s"
    assert {c.sd for c in columns if c.name == "sector_10_s"} == {"sector_10_sd_s"}
    assert empty(columns, "weekend")["sector_10_s"].dtype == np.float64

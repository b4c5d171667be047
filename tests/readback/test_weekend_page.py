"""The weekend's page, read back cell by cell, against the sessions of its logs."""

import math
import shutil
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from lxml import html as parser
from page_reading import only, words
from pypdf import PdfReader
from readback_worlds import SAMPLE_FOLDER
from shown import pair, read, wrong

import lapwright as lw
from lapwright import simulate as sim
from lapwright.discovery import complete_track
from lapwright.geometry import read_track, write_track
from lapwright.ingest import read_log
from lapwright.notes.weekend_notes import read_notes
from lapwright.session import Session
from lapwright.wording.car import car_lines

# Column, its error bar, by what it is shown, digits at most.
SHOWN = (
    ("brake_to_corner_m", "brake_sd_m", 1.0, 0),
    ("min_speed_mps", "min_speed_sd_mps", 3.6, 1),
    ("time_s", "time_sd_s", 1.0, 3),
)


@dataclass(frozen=True)
class Read:
    """The page, and the sessions of its logs by name."""

    page: Any
    sessions: dict[str, Session]


@pytest.fixture(scope="module")
def weekend(tmp_path_factory: pytest.TempPathFactory) -> Read:
    """Two drivers, three logs of one circuit."""
    place = tmp_path_factory.mktemp("weekend")
    circuit = sim.invented("wren_hollow")
    receiver = replace(sim.ORDINARY, rate_hz=5.0)
    for seed, (name, laps) in enumerate({"friday": 5, "saturday": 4, "sunday": 4}.items(), 41):
        run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((laps,)), seed=seed)
        sim.write_csv(sim.receive(run, receiver, seed=seed + 10), place / f"{name}.csv")
    notes = ((n, d) for n, d in (("friday", "Runa"), ("saturday", "Ivo"), ("sunday", "Runa")))
    (place / "weekend.toml").write_text(
        "".join(f'[logs."{n}.csv"]\ndriver = "{d}"\nconditions = "dry"\n' for n, d in notes)
    )
    sim.write_track(circuit, place / "lines.geojson")
    track = complete_track(read_track(place / "lines.geojson"), read_log(place / "friday.csv"))
    (place / "lines.geojson").unlink()
    write_track(track, place / "hollow.geojson")
    found = lw.run_weekend(place, workers=1, track=place / "hollow.geojson")
    lw.write_weekend_report(found, place / "weekend.html")
    known, noted = read_track(place / "hollow.geojson"), read_notes(place / "weekend.toml")
    sessions = {
        name: Session(read_log(place / f"{name}.csv"), known, notes=noted[f"{name}.csv"])
        for name in ("friday", "saturday", "sunday")
    }
    return Read(parser.fromstring((place / "weekend.html").read_text("utf-8")), sessions)


def clean_runs(session: Session, corner: int) -> pd.DataFrame:
    clean = session.laps.loc[session.laps["representative"], "lap"]
    passes = session.passes
    return passes[(passes["corner"] == corner) & passes["lap"].isin(clean)]


def mean_of(runs: pd.DataFrame, name: str, sd: str) -> tuple[float, float] | None:
    """Mean of the clean runs; its bar from their scatter and one run's measuring."""
    known = runs[[name, sd]].dropna()
    if len(known) < 3 or 2 * len(known) < len(runs):
        return None
    scatter = float(known[name].std()) / math.sqrt(len(known))
    return float(known[name].mean()), math.hypot(scatter, float(known[sd].median()))


def cells_of(row: Any) -> list[str]:
    return [words(cell) for cell in row.xpath("./td")]


def test_corners_over_the_sessions(weekend: Read) -> None:
    complaints, looked = [], 0
    for card in weekend.page.xpath("//article[@class='card']"):
        corner = int(card.get("id").rsplit("-", 1)[1])
        rows = only(card, ".//table").xpath("./tbody/tr[not(@class='change')]")
        for row, (name, session) in zip(rows, weekend.sessions.items(), strict=True):
            assert name in words(row.xpath("./th")[0])
            runs, cells = clean_runs(session, corner), cells_of(row)
            on_best = runs[runs["lap"] == session.best_lap].iloc[0]
            for k, (column, sd, factor, most) in enumerate(SHOWN):
                best = on_best[column], on_best[sd]
                pairs = (cells[2 * k], mean_of(runs, column, sd)), (cells[2 * k + 1], best)
                for cell, value in pairs:
                    shown = read(cell)
                    if value is None or not np.isfinite(value[0]):
                        assert shown is None, (name, corner, column, cell)
                        continue
                    looked += 1
                    assert shown is not None, (name, corner, column, cell)
                    said = wrong(shown, pair(value[0] * factor, value[1] * factor, most))
                    complaints += [f"{name}, corner {corner}, {column}: {said}"] if said else []
    assert complaints == []
    assert looked > 150


def test_sessions(weekend: Read) -> None:
    table = only(weekend.page, "//table[contains(@class, 'sessions-table')]")
    best = {name: s.row(s.best_lap or 0) for name, s in weekend.sessions.items()}
    quickest = min(best, key=lambda name: best[name]["time_s"])
    for row, (name, session) in zip(
        table.xpath("./tbody/tr"), weekend.sessions.items(), strict=True
    ):
        cells = cells_of(row)
        assert (row.get("class") == "best") == (name == quickest)
        mine = best[name]
        shown = read(cells[0])
        assert shown is not None
        assert wrong(shown, pair(mine["time_s"], mine["time_sd_s"])) == ""
        if name != quickest:
            gap = mine["time_s"] - best[quickest]["time_s"]
            sd = math.hypot(mine["time_sd_s"], best[quickest]["time_sd_s"])
            shown = read(cells[1])
            assert (shown is None) == (gap < 2.0 * sd)
            assert shown is None or wrong(shown, pair(gap, sd)) == ""
        times = session.laps.loc[session.laps["representative"], "time_s"]
        shown = read(cells[2])
        assert shown is not None
        sds = session.laps.loc[session.laps["representative"], "time_sd_s"]
        bar = math.hypot(1.2533 * times.std() / math.sqrt(len(times)), sds.median())
        assert wrong(shown, pair(times.median(), bar)) == ""
        assert cells[-1] == str(len(times))


def test_drivers_side_by_side(weekend: Read) -> None:
    (section,) = weekend.page.xpath("//*[@id='c1-dry-drivers']")
    best = {
        driver: min(
            (s for s in weekend.sessions.values() if s.notes.driver == driver),
            key=lambda s: s.row(s.best_lap or 0)["time_s"],
        )
        for driver in ("Runa", "Ivo")
    }
    first, second = sorted(best.values(), key=lambda s: s.row(s.best_lap or 0)["time_s"])
    true = second.compare(second.best_lap or 0, first.best_lap, other=first)
    assert words(section.xpath(".//h3")[0]) == f"{second.notes.driver} against {first.notes.driver}"
    ledger = only(section, ".//table[@class='ledger']").xpath("./tbody/tr")
    shown = [read(words(row.xpath("./td")[0])) for row in ledger]
    total = sum(one.value for one in shown if one is not None)
    # Eleven rows, each to half a hundredth at worst.
    assert total == pytest.approx(true.time_difference_s, abs=0.055)
    assert len(shown) == len(true.track.corners) + 1


def test_race_and_car_are_said_as_in_their_own_commands(tmp_path: Path) -> None:
    for name in ("sunday_race.csv", "saturday_practice.csv", "wren_hollow.geojson", "weekend.toml"):
        shutil.copy(SAMPLE_FOLDER / name, tmp_path)
    found = lw.run_weekend(tmp_path, workers=1, repeat_line=False)
    lw.write_weekend_report(found, tmp_path / "weekend.html", tmp_path / "weekend.pdf")
    circuit = next((tmp_path / "results" / "circuits").glob("*.geojson"))
    race, practice = (
        lw.open_session(tmp_path / name, track=circuit, repeat_line=False)
        for name in ("sunday_race.csv", "saturday_practice.csv")
    )
    page = parser.fromstring((tmp_path / "weekend.html").read_text("utf-8"))
    listed = [words(item) for item in page.iter("li")]
    raced, car = lw.race_in_words(race), car_lines(practice)
    assert len(raced) > 2
    assert len(car) > 1
    for text in (*raced, *car):
        assert listed.count(" ".join(text.split())) == 1
    # The practice had no standing start, the race nothing odd with the car.
    assert sum(text.startswith("Standing start") for text in listed) == len(race.launches)
    sheets = " ".join(
        " ".join(sheet.extract_text().split())
        for sheet in PdfReader(tmp_path / "weekend.pdf").pages
    )
    for text in (*raced, *car):
        assert " ".join(text.split()[:6]) in sheets

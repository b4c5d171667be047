"""What a session, a comparison and a weekend show of themselves is what their tables say."""

import math
from pathlib import Path

import pandas as pd
import pytest
from cell_reading import Cell, cell_of, comparison_cell_wrong, part, session_cell_wrong
from page_reading import numbers_block, only, page_of, section, source, table_in, words
from readback_worlds import SAMPLE_FOLDER, notes_of, session_of, truth_of
from session_truth import SPEED, Truth
from shown import True_, exact, pair, wrong

import lapwright as lw
from lapwright.batch import Weekend

SESSIONS = (
    ("friday_test.csv", "km/h"), ("sunday_race.csv", "mph,ft"), ("three_laps", "m/s"),
    ("one_lap", "km/h"), ("no_best_lap", "km/h"),
)  # fmt: skip


@pytest.fixture(scope="module", params=SESSIONS, ids=lambda p: f"{p[0]}-{p[1]}")
def shown(request: pytest.FixtureRequest) -> tuple[str, str, Truth, Cell]:
    name, units = request.param
    truth = truth_of(name)
    return name, units, truth, cell_of(lw.show(truth.session, units).html)


def test_a_session(shown: tuple[str, str, Truth, Cell]) -> None:
    _, units, truth, cell = shown
    assert session_cell_wrong(cell, truth, units) == []


def test_its_picture_is_the_picture_of_the_page(shown: tuple[str, str, Truth, Cell]) -> None:
    name, units, _, cell = shown
    along = section(page_of(name, units), "along")
    assert (along is None) == (cell.frame is None)
    if along is None:
        return
    lap = ".//div[@class='lap-view']"
    assert source(only(cell.frame, lap)).split() == source(only(along, lap)).split()
    # The picture that stands still has the same lines.
    paths = [p.get("d") for p in along.xpath(".//*[local-name()='path'][contains(@d, 'l')]")]
    still = [p.get("d") for p in cell.picture.xpath("//*[local-name()='path']")]
    assert paths
    assert set(paths) <= set(still)


def test_its_sentences_are_those_of_the_page(shown: tuple[str, str, Truth, Cell]) -> None:
    name, units, _, cell = shown
    page, said = page_of(name, units), words(cell.element)
    lines = page.xpath("//ol[@class='five']/li | //p[@class='try'] | //p[@class='stake']")
    odd = page.xpath("//ul[@class='findings']/li")
    assert len(lines) >= 2
    for line in (*lines, *odd):
        assert words(line) in said
    count = words(only(part(cell, "What was odd in the log"), "./summary"))
    assert count.endswith(f"({len(odd)})")


def test_a_comparison() -> None:
    truth = truth_of("three_laps")
    for lap, reference in ((truth.usual, truth.best), (truth.best, truth.usual)):
        c = truth.session.compare(lap, reference)
        cell = cell_of(lw.show(c, "mph").html)
        assert comparison_cell_wrong(cell, truth, c, "mph") == []


def test_a_comparison_with_another_log_says_so() -> None:
    mine = truth_of("three_laps")
    log = session_of("gap").log
    other = lw.Session(log, mine.session.shared_track)
    lap = int(other.best_lap or 0)
    c = other.compare(lap, mine.best, mine.session)
    cell = cell_of(lw.show(c, "km/h").html)
    assert comparison_cell_wrong(cell, mine, c, "km/h") == []
    name = mine.session.log.path.name
    assert numbers_block(cell.frame)["best"] == f"{mine.best} of {name}"
    assert "A different driver, car, set of tyres or day" in words(cell.element)


def test_a_weekend(tmp_path: Path) -> None:
    names = ("saturday_qualifying.gpx", "saturday_practice.csv")
    for name in (*names, "wren_hollow.geojson", "weekend.toml"):
        (tmp_path / name).write_bytes((SAMPLE_FOLDER / name).read_bytes())
    (tmp_path / "broken.csv").write_text("lap,time\n1,2\n")
    weekend = lw.run_weekend(tmp_path, repeat_line=False, workers=1)
    cell = cell_of(lw.show(weekend, "mph").html)
    table = table_in(cell.element)
    assert [f"{head} [{unit}]" if unit else head for head, unit in table.heads] == [
        "session", "driver", "laps", "clean", "best lap", "median", "spread (sd) [s]",
        "top speed [mph]",
    ]  # fmt: skip
    assert sorted(lead for lead, _, _ in table.rows) == sorted(n.split(".")[0] for n in names)
    for lead, _, cells in table.rows:
        laps = weekend.laps[weekend.laps["session"] == lead]
        timed, clean = laps[laps["kind"] == "timed"], laps[laps["representative"]]
        best = clean.loc[clean["time_s"].idxmin()]
        driver = notes_of(next(n for n in names if n.startswith(lead))).driver
        true = [
            exact(len(timed)), exact(len(clean)), pair(best["time_s"], best["time_sd_s"]),
            True_(float(clean["time_s"].median()), most=2),
            True_(float(clean["time_s"].std()), most=2),
            True_(SPEED["mph"] * float(laps["top_speed_mps"].max()), most=1),
        ]  # fmt: skip
        assert cells[0] == driver
        said = [wrong(text, one) for text, one in zip(cells[1:], true, strict=True)]
        assert [one for one in said if one] == []
    assert "Could not be used (1)" in words(cell.element)
    assert "broken.csv" in words(cell.element)


def test_a_log_without_a_clean_lap_has_dashes_and_no_numbers() -> None:
    row = {
        "session": "wet", "path": "x/wet.csv", "status": "ok", "track": "", "driver": "",
        "laps": 0, "clean_laps": 0,
        "best_lap_s": math.nan, "best_lap_sd_s": math.nan, "median_s": math.nan,
        "spread_s": math.nan, "top_speed_mps": math.nan, "conditions": "", "changes": "",
        "reason": "", "start_utc": pd.NaT,
    }  # fmt: skip
    weekend = Weekend(pd.DataFrame([row]), pd.DataFrame(), Path(), (), 1, 0, pd.DataFrame())
    table = table_in(cell_of(lw.show(weekend, "km/h").html).element)
    assert table.rows[0][2] == ["", "0", "0", "–", "–", "–", "–"]

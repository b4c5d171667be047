"""What the driver's own laps add up to: page, screen, cell and files say what the table does."""

from pathlib import Path
from typing import Any

import matplotlib.pyplot as plt
import numpy as np
import pytest
from cell_reading import cell_of, part
from page_reading import only, page_of, path_points, section, table_in, words
from readback_worlds import truth_of
from session_truth import Truth, factor
from shown import True_ as Number
from shown import exact, numbers_in, pair, wrong
from terminal_reading import read_csv, rows_wrong, run, run_json, same

import lapwright as lw
from lapwright import plots
from lapwright.report import write_tables

# Eight clean laps, six of a race, and one log with too few.
SHOWN = (("saturday_practice.csv", "km/h"), ("sunday_race.csv", "mph,ft"))
TOO_FEW = "saturday_qualifying.gpx"
# The page's columns by their heads, as they are promised.
COLUMNS = {
    "best run": "best_s", "usual": "usual_s", "calculated": "allowed_s", "gap": "gap_s",
    "line": "line_s", "minimum speed": "minimum_s", "braking": "braking_s",
    "throttle": "throttle_s", "best run: minimum": "best_min_speed_mps",
    "usual minimum": "usual_min_speed_mps", "calculated minimum": "allowed_min_speed_mps",
}  # fmt: skip


@pytest.fixture(params=SHOWN, ids=lambda p: f"{p[0]}-{p[1]}")
def shown(request: pytest.FixtureRequest) -> tuple[str, Truth, str]:
    name, units = request.param
    return name, truth_of(name), units


def _table_wrong(element: Any, truth: Truth, units: str) -> list[str]:
    table, true = table_in(element), truth.session.achievable.corners
    assert [head for head, _ in table.heads] == ["corner", *COLUMNS]
    assert len(table.rows) == len(true)
    said = []
    for (lead, _, cells), row in zip(table.rows, true.to_dict("records"), strict=True):
        said.append(wrong(numbers_in(lead)[0], exact(row["corner"])))
        for text, name in zip(cells, COLUMNS.values(), strict=True):
            scale = factor("speed" if name.endswith("_mps") else "s", units)
            stem, unit = name.rsplit("_", 1)
            sd, most = row.get(f"{stem}_sd_{unit}"), 1 if unit == "mps" else 2
            number = (
                Number(row[name], most=most)
                if sd is None
                else pair(scale * row[name], scale * sd, most)
            )
            if sd is not None and not name.startswith("best_"):
                # What holds scatter has an sd in brackets, never a plus-minus sign: the glossary.
                assert text.endswith(")"), text
                text = text.replace(" (sd ", " \N{PLUS-MINUS SIGN} ").removesuffix(")")
            said.append(wrong(text, number))
    return [text for text in said if text]


def test_table_of_the_page(shown: tuple[str, Truth, str]) -> None:
    name, truth, units = shown
    assert _table_wrong(section(page_of(name, units), "adds-up"), truth, units) == []


def test_table_of_the_cell(shown: tuple[str, Truth, str]) -> None:
    _, truth, units = shown
    cell = cell_of(lw.show(truth.session, units).html)
    assert _table_wrong(part(cell, "What your own laps add up to (calculated)"), truth, units) == []


def test_page_and_screen_say_the_same(shown: tuple[str, Truth, str]) -> None:
    name, truth, units = shown
    said = [
        words(one)
        for one in section(page_of(name, units), "adds-up").xpath("./ul[@class='adds-up']/li")
    ]
    printed = " ".join(" ".join(run(name, units, "debrief", "--no-notes")).split())
    assert said
    for text in said:
        assert text in printed
    assert "not driven and not advice" in printed
    assert run_json(name, "debrief", "--no-notes")["achievable"]["text"] == said
    found = truth.session.achievable
    assert ("over the whole lap there is nothing left but scatter" in printed) == found.only_scatter


def test_curves_of_the_page(shown: tuple[str, Truth, str]) -> None:
    name, truth, units = shown
    figure = only(section(page_of(name, units), "adds-up"), ".//*[@data-kind='speed']")
    low, high = float(figure.get("data-low")), float(figure.get("data-high"))
    along = truth.session.achievable.along
    for role, column in (("usual", "usual"), ("best", "best"), ("calculated", "allowed")):
        path = only(figure, f".//*[local-name()='path'][@class='curve {role}']").get("d")
        x, y = path_points(path).T
        true = factor("speed", units) * np.interp(
            x, along["station_m"], along[f"{column}_mps"], period=truth.session.track.length_m
        )
        # Whole units of the frame, along and up, on the steepest slope.
        assert np.abs(high - y / 1000.0 * (high - low) - true).max() < 0.03 * (high - low)


def test_figure(shown: tuple[str, Truth, str]) -> None:
    _, truth, units = shown
    found = truth.session.achievable
    ax = plots.achievable(found, corners=truth.session.corners, units=units)
    for line, column in zip(ax.lines, ("usual_mps", "best_mps", "allowed_mps"), strict=False):
        x, y = np.asarray(line.get_xydata()).T
        np.testing.assert_allclose(y, factor("speed", units) * found.along[column])
        np.testing.assert_allclose(x, found.along["station_m"])
    plt.close("all")


def test_json_and_files(shown: tuple[str, Truth, str], tmp_path: Path) -> None:
    name, truth, _ = shown
    found = truth.session.achievable
    one = run_json(name, "debrief", "--no-notes")["achievable"]
    for key in ("time_s", "time_sd_s", "usual_s", "usual_sd_s", "best_s", "gap_s", "gap_sd_s"):
        assert same(one[key], getattr(found, key)), key
    assert one["time_ci95_s"] == [found.time_low95_s, found.time_high95_s]
    assert one["gap_ci95_s"] == [found.gap_low95_s, found.gap_high95_s]
    assert (one["laps"], one["best_lap"]) == (list(found.laps), found.best_lap)
    assert (one["only_scatter"], one["beyond"]) == (found.only_scatter, found.beyond)
    assert rows_wrong(one["corners"], found.corners) == []
    write_tables(truth.session, tmp_path)
    written = read_csv(tmp_path / "achievable.csv")
    assert list(written) == list(found.corners)
    for column in ("corner", "gap_s", "allowed_min_speed_mps"):
        np.testing.assert_array_equal(written[column], found.corners[column])


def test_nothing_with_too_few_laps(tmp_path: Path) -> None:
    assert section(page_of(TOO_FEW, "km/h"), "adds-up") is None
    assert run_json(TOO_FEW, "debrief", "--no-notes")["achievable"] is None
    assert "add up to (calculated)" not in " ".join(run(TOO_FEW, "km/h", "debrief", "--no-notes"))
    write_tables(truth_of(TOO_FEW).session, tmp_path)
    assert not (tmp_path / "achievable.csv").exists()

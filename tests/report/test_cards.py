"""The table of a corner's card: every cell is that lap's own."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from lapwright.report.cards import Card, corner_cards, drawn_laps, line_words, table_words
from lapwright.report.report_data import ReportData
from lapwright.units import Units

# Standard gravity: exact, 3rd CGPM, 1901. Foot and mile: international, 1959, exact.
G_MPS2, FOOT_M, MILE_M = 9.80665, 0.3048, 1609.344
SPEED, ALONG, ACROSS, GRIP = "speed", "along", "across", "g"
# By the column's head: where it is in the passes, its error bar there, its kind, its last digit.
COLUMNS = {
    "time through": ("time_s", "time_sd_s", "s", 3),
    "braking before corner": ("brake_to_corner_m", "brake_sd_m", ALONG, 0),
    "peak braking": ("peak_decel_mps2", "peak_decel_sd_mps2", GRIP, 2),
    "entry speed": ("entry_speed_mps", "entry_speed_sd_mps", SPEED, 1),
    "minimum speed": ("min_speed_mps", "min_speed_sd_mps", SPEED, 1),
    "slowest past apex": ("min_speed_station_m", "min_speed_station_sd_m", ALONG, 0),
    "throttle past apex": ("throttle_station_m", "throttle_sd_m", ALONG, 0),
    "exit speed": ("exit_speed_mps", "exit_speed_sd_mps", SPEED, 1),
    "peak lateral": ("peak_lateral_mps2", "peak_lateral_sd_mps2", GRIP, 2),
    "line at turn-in, +\N{NO-BREAK SPACE}left": (
        "turn_in_aside_m",
        "turn_in_aside_sd_m",
        ACROSS,
        1,
    ),
    "line at apex, +\N{NO-BREAK SPACE}left": ("apex_aside_m", "apex_aside_sd_m", ACROSS, 1),
    "line at exit, +\N{NO-BREAK SPACE}left": ("exit_aside_m", "exit_aside_sd_m", ACROSS, 1),
}
UNITS = {
    "km/h": {"s": ("s", 1.0), SPEED: ("km/h", 3.6), ALONG: ("m", 1.0), ACROSS: ("m", 1.0),
             GRIP: ("g", 1.0 / G_MPS2)},
    "mph,ft": {"s": ("s", 1.0), SPEED: ("mph", 3600.0 / MILE_M), ALONG: ("ft", 1.0 / FOOT_M),
               ACROSS: ("ft", 1.0 / FOOT_M), GRIP: ("g", 1.0 / G_MPS2)},
}  # fmt: skip


def parsed(text: str) -> tuple[float, float, float, float]:
    """Value and error bar of a cell, and half a unit of the last place of each."""
    if text == "\N{EN DASH}":
        return (np.nan,) * 4
    value, _, bar = text.replace("\N{MINUS SIGN}", "-").partition("±")
    bar = bar.strip(" <")
    halves = [0.5 * 10.0 ** -len(t.strip().partition(".")[2]) for t in (value, bar)]
    return float(value), float(bar) if bar else np.nan, halves[0], halves[1]


def expected(material: ReportData, card: Card, name: str, factor: float) -> pd.Series:
    """A column of the passes by lap, as a card shows it."""
    passes = material.passes[material.passes["corner"] == card.number].set_index("lap")
    values = passes[name] - (card.apex_m if name.endswith("_station_m") else 0.0)
    return values.astype(float) * factor


@pytest.mark.parametrize("units", UNITS)
def test_every_cell_is_the_number_of_its_lap_in_the_unit_of_its_head(
    material: ReportData, units: str
) -> None:
    seen = 0
    for card in corner_cards(material, Units.parse(units), pictures=False):
        assert [k.head for k in card.columns] == list(COLUMNS)
        for k, column in enumerate(card.columns):
            name, sd_name, kind, decimals = COLUMNS[column.head]
            unit, factor = UNITS[units][kind]
            assert column.unit == unit
            values = expected(material, card, name, factor)
            passes = material.passes[material.passes["corner"] == card.number].set_index("lap")
            sds = passes[sd_name].astype(float) * factor
            assert [int(row.lead) for row in card.rows] == list(values.index)
            for row in card.rows:
                lap = int(row.lead)
                value, bar, half, half_bar = parsed(row.cells[k])
                assert row.sds[k] == pytest.approx(sds[lap], nan_ok=True)
                assert np.isnan(value) == np.isnan(values[lap])
                if np.isnan(value):
                    continue
                assert value == pytest.approx(values[lap], abs=half + 1e-9)
                assert half >= 0.5 * 10.0**-decimals - 1e-12
                if "<" in row.cells[k]:
                    assert sds[lap] < bar
                elif not np.isnan(bar):
                    assert bar == pytest.approx(sds[lap], abs=half_bar + 1e-9)
                seen += 1
    # Twelve columns of ten corners and twenty laps, some without braking or throttle point.
    assert seen > 2000


def test_a_cell_has_its_own_error_bar_or_the_last_row_has_it(material: ReportData) -> None:
    own = {"time through", "braking before corner", "minimum speed", "throttle past apex"}
    for card in corner_cards(material, Units(), pictures=False):
        for k, column in enumerate(card.columns):
            for row in card.rows:
                if row.cells[k] != "\N{EN DASH}":
                    assert ("±" in row.cells[k]) == (column.head in own), row.cells[k]
            name, sd_name, kind, _ = COLUMNS[column.head]
            passes = material.passes[material.passes["corner"] == card.number]
            sds = np.sort(passes[sd_name].dropna().to_numpy() * UNITS["km/h"][kind][1])
            text = card.sds.cells[k]
            _, bar, _, half = parsed(f"0 {text}")
            # Of the run in the middle; of twenty, the upper one of the two.
            if "<" in text:
                assert sds[len(sds) // 2] < bar
            else:
                assert bar == pytest.approx(sds[len(sds) // 2], abs=half + 1e-9), name


def aside(material: ReportData, *laps: int) -> ReportData:
    """The same, with these laps set aside."""
    clean = material.laps["representative"] & ~material.laps["lap"].isin(laps)
    return replace(material, laps=material.laps.assign(representative=clean))


def test_median_and_spread_are_of_the_clean_laps(material: ReportData) -> None:
    # Without the quickest and the slowest three, both are others.
    timed = material.laps[material.laps["representative"]].sort_values("time_s")["lap"]
    out = [int(n) for n in (*timed[1:4], *timed[-3:]) if n != material.usual]
    some = aside(material, *out)
    for card in corner_cards(some, Units(), pictures=False):
        for row in card.rows:
            lap = int(row.lead)
            role = "aside" if lap in out else "other"
            role = {material.best: "best", material.usual: "usual"}.get(lap, role)
            assert row.role == role
        assert [row.lead for row in card.summary[:2]] == ["median", "spread (sd)"]
        for k, column in enumerate(card.columns):
            name, _, kind, _ = COLUMNS[column.head]
            values = expected(some, card, name, UNITS["km/h"][kind][1]).drop(out).dropna()
            if len(values) < 3:
                continue
            middle, _, half, _ = parsed(card.summary[0].cells[k])
            assert middle == pytest.approx(values.median(), abs=half + 1e-9)
            # n - 1 in the divisor: pandas' own.
            spread, _, half, _ = parsed(card.summary[1].cells[k])
            assert spread == pytest.approx(values.std(), abs=half + 1e-9)


def test_of_fewer_than_three_no_spread_is_shown(material: ReportData) -> None:
    timed = [int(n) for n in material.clean["lap"]]
    for kept, shown in ((2, False), (3, True)):
        card = corner_cards(aside(material, *timed[kept:]), Units(), pictures=False)[0]
        assert (card.summary[1].cells[0] != "\N{EN DASH}") == shown
        assert card.summary[0].cells[0] != "\N{EN DASH}"
        assert (line_words(card).count("good to about")) == 1


def test_quickest_third_needs_six_laps(material: ReportData) -> None:
    corner = int(material.corners["corner"].iloc[0])
    spans = material.spans[material.spans["corner"] == corner].sort_values("span_s")
    for kept, count in ((5, 0), (6, 2), (8, 2), (9, 3)):
        some = replace(material, spans=spans.tail(kept))
        card = corner_cards(some, Units(), pictures=False)[0]
        assert (card.summary[-1].lead == f"quickest {count}") == (count > 0)
        assert ("Quickest" in table_words(card)) == (count > 0)
        if count:
            laps = spans.tail(kept)["lap"].head(count)
            mine = expected(some, card, "time_s", 1.0)[laps]
            assert parsed(card.summary[-1].cells[0])[0] == pytest.approx(mine.median(), abs=6e-4)


def test_facts_say_which_way_how_tight_and_where(material: ReportData) -> None:
    rows = material.corners.set_index("corner")
    assert set(rows["direction"]) == {"left", "right"}
    for card in corner_cards(material, Units("mph", "ft"), pictures=False):
        row = rows.loc[card.number]
        said = re.fullmatch(
            r"(left|right), radius (\d+) ft, apex (\d+) ft after the start line", card.facts
        )
        assert said is not None
        assert said[1] == row["direction"]
        assert float(said[2]) == pytest.approx(row["radius_m"] / FOOT_M, abs=0.5)
        assert float(said[3]) == pytest.approx(row["apex_m"] / FOOT_M, abs=0.5)
        # From 150 m before the entry to 100 m after the exit, within the lap.
        assert card.apex_m == row["apex_m"]
        assert card.window == (
            max(row["entry_m"] - 150.0, 0.0), min(row["exit_m"] + 100.0, material.length_m)
        )  # fmt: skip
        assert card.title.startswith(("corner", "Corner", "Saint", str(card.number), "T"))


def test_marks_stand_where_the_best_and_the_usual_lap_braked_were_slowest_and_picked_up(
    material: ReportData,
) -> None:
    stations = {
        "brake": "brake_station_m", "slowest": "min_speed_station_m",
        "throttle": "throttle_station_m",
    }  # fmt: skip
    words = {"brake": "braking point", "throttle": "throttle point"}
    passes = material.passes.set_index(["lap", "corner"])
    laps = {"best": material.best, "usual": material.usual}
    for card in corner_cards(material, Units("mph"), pictures=False):
        found = {(kind, role): (station, text) for kind, role, station, text in card.marks}
        for role, lap in laps.items():
            row = passes.loc[(lap, card.number)]
            for kind, column in stations.items():
                if np.isnan(row[column]):
                    assert (kind, role) not in found
                    continue
                station, text = found[kind, role]
                assert station == row[column]
                slow = f"slowest, {row['min_speed_mps'] * 3600.0 / MILE_M:.0f} mph"
                assert text == f"lap {lap}: {words.get(kind, slow)}"


def test_best_and_usual_lap_are_drawn_above_the_others(material: ReportData) -> None:
    laps = drawn_laps(material)
    assert laps[-2:] == [(material.usual, "usual"), (material.best, "best")]
    rest = set(material.clean["lap"]) - {material.best, material.usual}
    assert {lap for lap, role in laps if role == "other"} == rest
    assert len(laps) == len(material.clean)
    assert drawn_laps(replace(material, best=None, usual=None))[-1][1] == "other"


def test_the_line_is_as_good_as_its_row_says(material: ReportData) -> None:
    for card in corner_cards(material, Units("km/h", "ft"), pictures=False):
        k = [column.head for column in card.columns].index("line at apex, +\N{NO-BREAK SPACE}left")
        assert line_words(card).endswith(f"; good to about {card.sds.cells[k]} ft.")
        assert line_words(card) in table_words(card)
        # One clean lap is its own usual line: no error bar, and no line.
        none = replace(card, sds=replace(card.sds, cells=("",) * len(card.columns)))
        assert line_words(none).endswith("; one clean lap has no usual line.")


def test_cards_have_the_pictures_that_there_are(material: ReportData) -> None:
    card = corner_cards(material, Units())[0]
    assert card.plan is not None
    assert [f.kind for f in card.figures] == ["speed", "delta"]
    assert [c.role for c in card.plan.curves] == ["usual", "best"]
    alone = corner_cards(replace(material, comparison=None), Units())[0]
    assert [f.kind for f in alone.figures] == ["speed"]
    bare = corner_cards(material, Units(), pictures=False)[0]
    assert (bare.plan, bare.figures) == (None, ())


# Columns that the card works out from a station and the corner's apex.
FROM_APEX = {
    "slowest past apex": "min_speed_station_m",
    "throttle past apex": "throttle_station_m",
}


@pytest.mark.parametrize("head", FROM_APEX)
def test_distances_from_the_apex_are_those_of_the_lap_in_the_row(
    material: ReportData, head: str
) -> None:
    shown = expected = 0
    for card in corner_cards(material, Units(), pictures=False):
        k = [column.head for column in card.columns].index(head)
        passes = material.passes[material.passes["corner"] == card.number].set_index("lap")
        for row in card.rows:
            station = float(passes.loc[int(row.lead), FROM_APEX[head]])
            text = row.cells[k].partition(" ± ")[0].replace("\N{MINUS SIGN}", "-")
            expected += bool(np.isfinite(station))
            if text != "\N{EN DASH}":
                shown += 1
                assert float(text) == pytest.approx(station - card.apex_m, abs=0.5 + 1e-9)
    assert shown == expected > 100

"""A corner's sheet: its curves, marks and shades are the numbers of the laps they are labelled."""

from collections.abc import Iterator

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from lapwright.plots.drawing.palette import LIGHT
from lapwright.report.cards import ONE_SD, Card, corner_cards
from lapwright.report.pdf.text_layout import Letters
from lapwright.report.report_data import ReportData
from lapwright.units import Units

Sheets = list[tuple[Figure, list[Letters]]]
# Foot and mile: international, 1959, exact. [m]
FOOT_M, MILE_M = 0.3048, 1609.344


def corner_sheets(
    sheets: Sheets, material: ReportData
) -> Iterator[tuple[Card, list[Axes], list[Letters], float]]:
    """Each card, the axes of its sheet (speed, delta, line, plan), its strings, km/h or mph."""
    found = [one for one in sheets if ONE_SD in {s.text for s in one[1]}]
    mph = "[mph]" in found[0][0].axes[0].get_ylabel()
    units = Units("mph", "ft") if mph else Units()
    for card, (figure, strings) in zip(
        corner_cards(material, units, pictures=False), found, strict=True
    ):
        yield card, list(figure.axes), strings, 3600.0 / MILE_M if mph else 3.6


def lines(ax: Axes, marker: bool) -> dict[str, list[tuple[np.ndarray, np.ndarray]]]:
    """Curves, or marks, by colour."""
    out: dict[str, list[tuple[np.ndarray, np.ndarray]]] = {}
    for line in ax.lines:
        marked = line.get_marker() not in ("None", "", None)
        if marked == marker and (marker or len(line.get_xdata()) > 2):
            xy = np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)
            out.setdefault(to_hex(line.get_color()), []).append(xy)
    return out


def colour_of(role: str) -> str:
    return to_hex({"best": LIGHT.best, "usual": LIGHT.usual}[role])


def test_speeds_are_those_of_the_best_the_usual_and_the_other_clean_laps(
    sheets: Sheets, material: ReportData
) -> None:
    for card, (speed, *_), _, factor in corner_sheets(sheets, material):
        curves = lines(speed, marker=False)
        for role, lap in (("best", material.best), ("usual", material.usual)):
            assert lap is not None
            ((x, y),) = curves[colour_of(role)]
            trace = material.traces[lap]
            assert y == pytest.approx(
                factor * trace.at_station("speed_mps", x + card.apex_m), abs=0.01
            )
            assert card.window[0] <= x[0] + card.apex_m <= card.window[0] + 10.0
        assert sum(len(one) for one in curves.values()) == len(material.clean)
        texts = [text.get_text() for text in speed.get_legend().get_texts()]
        assert set(texts) == {
            f"lap {material.best}, the best", f"lap {material.usual}, a typical lap",
            "other clean laps",
        }  # fmt: skip


def test_marks_lie_on_their_curves(sheets: Sheets, material: ReportData) -> None:
    for card, (speed, _, _, plan), _, factor in corner_sheets(sheets, material):
        on_speed, on_plan = lines(speed, marker=True), lines(plan, marker=True)
        for role, lap in (("best", material.best), ("usual", material.usual)):
            assert lap is not None
            trace = material.traces[lap]
            inside = [
                station
                for _, own, station, _ in card.marks
                if own == role and card.window[0] <= station <= card.window[1]
            ]
            shown = sorted((x[0], y[0]) for x, y in on_speed[colour_of(role)])
            assert [x + card.apex_m for x, _ in shown] == pytest.approx(sorted(inside))
            for x, y in shown:
                speed_mps = float(trace.at_station("speed_mps", x + card.apex_m))
                assert y == pytest.approx(factor * speed_mps)
            places = {(round(x[0], 6), round(y[0], 6)) for x, y in on_plan[colour_of(role)]}
            assert places == {
                tuple(round(float(trace.at_station(f"{a}_m", s)), 6) for a in ("east", "north"))
                for s in inside
            }


def test_the_delta_has_its_band_of_one_sd(sheets: Sheets, material: ReportData) -> None:
    c = material.comparison
    assert c is not None
    for card, (_, delta, *_), _, _ in corner_sheets(sheets, material):
        table = c.delta[c.delta["station_m"].between(*card.window)]
        ((x, y),) = lines(delta, marker=False).values().__iter__().__next__()[:1]
        assert x == pytest.approx(table["station_m"] - card.apex_m)
        assert y == pytest.approx(table["delta_s"])
        corners = delta.collections[0].get_paths()[0].vertices
        band = {(round(float(a), 6), round(float(b), 6)) for a, b in corners}
        for sign in (-1.0, 1.0):
            edge = table["delta_s"] + sign * table["delta_sd_s"]
            assert {
                (round(float(a), 6), round(float(b), 6))
                for a, b in zip(table["station_m"] - card.apex_m, edge, strict=True)
            } <= band
        low, high = delta.get_ylim()
        assert low < (table["delta_s"] - table["delta_sd_s"]).min()
        assert high > (table["delta_s"] + table["delta_sd_s"]).max()
        assert high - low >= 0.0599


def test_the_line_is_how_far_left_of_the_median_of_the_clean_laps(
    sheets: Sheets, material: ReportData
) -> None:
    for card, (_, _, line, _), _, _ in corner_sheets(sheets, material):
        curves = lines(line, marker=False)
        for role, lap in (("best", material.best), ("usual", material.usual)):
            assert lap is not None
            ((x, y),) = curves[colour_of(role)]
            station = x + card.apex_m
            all_m = [
                material.traces[int(n)].at_station("offset_m", station)
                for n in material.clean["lap"]
            ]
            own = material.traces[lap].at_station("offset_m", station)
            assert y == pytest.approx(own - np.median(all_m, axis=0), abs=0.02)


def test_all_traces_share_the_distance_from_the_apex(sheets: Sheets, material: ReportData) -> None:
    corners = material.corners.set_index("corner")
    for card, axes, _, _ in corner_sheets(sheets, material):
        row = corners.loc[card.number]
        for ax in axes[:3]:
            assert ax.get_xlim() == pytest.approx(
                (card.window[0] - card.apex_m, card.window[1] - card.apex_m)
            )
            shade = ax.patches[0]
            assert shade.get_x() == pytest.approx(row["entry_m"] - row["apex_m"])
            assert shade.get_width() == pytest.approx(row["exit_m"] - row["entry_m"])


def test_the_plan_is_where_the_car_was_and_its_bar_is_to_scale(
    sheets: Sheets, material: ReportData
) -> None:
    for card, (*_, plan), _, _ in corner_sheets(sheets, material):
        curves = lines(plan, marker=False)
        for role, lap in (("best", material.best), ("usual", material.usual)):
            assert lap is not None
            trace = material.traces[lap]
            part = trace.within(*card.window)
            ((x, y),) = curves[colour_of(role)]
            assert x == pytest.approx(trace.east_m[part])
            assert y == pytest.approx(trace.north_m[part])
        bar = next(line for line in plan.lines if line.get_transform() == plan.transAxes)
        # As the axes are when drawn: metres alike in both directions.
        plan.apply_aspect()
        low, high = plan.get_xlim()
        long_m = float(np.diff(bar.get_xdata())[0]) * (high - low)
        said = next(t.get_text() for t in plan.texts if t.get_text().endswith((" m", " ft")))
        unit_m = FOOT_M if said.endswith("ft") else 1.0
        assert float(said.split()[0]) * unit_m == pytest.approx(long_m, rel=0.02)


def test_where_the_time_went_stands_below_the_plan(sheets: Sheets, material: ReportData) -> None:
    c = material.comparison
    assert c is not None
    for card, _, strings, _ in corner_sheets(sheets, material):
        start = next(s for s in strings if s.text == "Typical lap to the best [s]")
        beside = {
            s.text: t.text
            for s in strings
            for t in strings
            if s.text in ("braking", "entry", "exit", "straight")
            and "±" in t.text and not s.right and s.y_in == t.y_in < start.y_in
        }  # fmt: skip
        parts = c.ledger[c.ledger["corner"] == card.number].groupby("stretch")["difference_s"].sum()
        assert len(beside) == len(card.ledger) > 1
        for stretch, text in beside.items():
            value = text.replace("\N{MINUS SIGN}", "-").split(" ± ")[0]
            assert float(value) == pytest.approx(parts[stretch], abs=6e-3)

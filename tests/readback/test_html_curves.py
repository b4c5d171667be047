"""Every curve, band and mark along the lap, and every plan, is where the session's tables say."""

import re
from collections.abc import Iterator
from typing import Any

import numpy as np
from page_reading import cards, section
from picture_reading import Along, PlanView, along_in, axes_wrong, plan_in
from session_truth import DISTANCE, Truth, factor, split_units
from shown import True_, all_wrong, exact, numbers_in

from lapwright.laps.comparison import Comparison

Report = tuple[Any, Truth, str]

# Of a mark and of a curve: what is said, and the column of its station.
MARKS = {
    "brake": "brake_station_m", "slowest": "min_speed_station_m", "throttle": "throttle_station_m",
}  # fmt: skip


def _drawn(truth: Truth) -> list[tuple[str, int]]:
    """Laps of a card's picture of speeds in drawing order: the others, the usual, the best."""
    out = [("other", n) for n in truth.clean if n not in (truth.best, truth.usual)]
    out += [("usual", truth.usual)] if truth.usual is not None else []
    return out + ([("best", truth.best)] if truth.best is not None else [])


def test_axes(report: Report) -> None:
    page, _, units = report
    far = split_units(units)[1]
    pictures = [p for kind in ("speed", "delta") for p in along_in(page, kind)]
    assert [w for p in pictures for w in axes_wrong(p, far)] == []


def test_speeds(report: Report) -> None:
    page, truth, units = report
    part = section(page, "along")
    assert (part is None) == (truth.best is None)
    complaints = []
    if part is not None:
        main = [(role, n) for role, n in _drawn(truth) if role != "other"]
        complaints += _speeds_wrong(truth, along_in(part, "speed")[0], main, units)
    for corner, card in cards(page).items():
        pictures = along_in(card, "speed")
        assert len(pictures) == (truth.best is not None)
        for picture in pictures:
            _check_window(truth, corner, picture)
            complaints += _speeds_wrong(truth, picture, _drawn(truth), units)
    assert complaints == []


def _check_window(truth: Truth, corner: int, picture: Along) -> None:
    """The picture holds the whole of its corner."""
    row, length = truth.corners.loc[corner], truth.session.track.length_m
    # A corner over the line is cut there.
    assert picture.start_m <= max(row["entry_m"], 0.0) + 0.006
    assert picture.end_m + 0.006 >= min(row["exit_m"], length)


def _speeds_wrong(
    truth: Truth, picture: Along, laps: list[tuple[str, int]], units: str
) -> list[str]:
    curves, out = picture.curves(), []
    assert [role for role, _ in curves] == [role for role, _ in laps]
    for (_, points), (role, lap) in zip(curves, laps, strict=True):
        trace = truth.trace(lap)
        station = _stations(picture, len(points))
        true = trace.at_station("speed_mps", station) * factor("speed", units)
        out += _curve_wrong(points, station, true, picture, f"{role} lap {lap}")
    return out


def _stations(picture: Along, count: int) -> np.ndarray:
    """Stations of a curve: every 5 m from the start of the picture, and its end."""
    station = np.append(picture.start_m + 5.0 * np.arange(count - 1), picture.end_m)
    assert station[-1] - station[-2] <= 5.0 + 0.02
    return station


def _curve_wrong(
    points: np.ndarray, station: np.ndarray, true: np.ndarray, picture: Along, where: str
) -> list[str]:
    """Stations to whole metres, numbers to a thousandth of the picture."""
    assert np.abs(points[:, 0] - station).max() <= 0.5 + 0.02
    # The station itself is written with two decimals.
    steep = 0.01 * np.abs(np.gradient(true, station)).max()
    off = np.abs(points[:, 1] - true)
    worst = int(off.argmax())
    good = off[worst] <= picture.unit * 1.02 + steep
    return [] if good else [f"{where}: {points[worst]} for {true[worst]} at {station[worst]}"]


def test_deltas(report: Report) -> None:
    page, truth, _ = report
    part, c = section(page, "along"), truth.comparison
    complaints = []
    pictures = [] if part is None else along_in(part, "delta")
    for card in cards(page).values():
        own = along_in(card, "delta")
        assert len(own) == (c is not None)
        pictures += own
    assert bool(pictures) == (c is not None)
    for picture in pictures:
        assert c is not None
        complaints += _delta_wrong(picture, c, ["band", "usual"])
    assert complaints == []


def test_delta_to_the_lap_asked_for(report: Report) -> None:
    page, truth, _ = report
    part = section(page, "other")
    if part is None:
        return
    asked = truth.session.compare(truth.best, truth.timed[0])
    pictures = along_in(part, "delta")
    assert len(pictures) == 1
    assert _delta_wrong(pictures[0], asked, ["band", "best"]) == []
    # The words say which laps the cards compare.
    said = part.xpath("./p[@class='quiet']")[0].text_content()
    assert all_wrong(numbers_in(said), [exact(truth.usual), exact(truth.best)]) == []


def _delta_wrong(picture: Along, c: Comparison, roles: list[str]) -> list[str]:
    curves = picture.curves()
    assert [role for role, _ in curves] == roles
    (_, band), (_, line) = curves
    station, table = _stations(picture, len(line)), c.delta
    value, sd = (
        np.interp(station, table["station_m"], table[name]) for name in ("delta_s", "delta_sd_s")
    )
    upper, lower = band[: len(line)], band[len(line) :][::-1]
    return [
        *_curve_wrong(line, station, value, picture, "delta"),
        *_curve_wrong(upper, station, value + sd, picture, "upper edge"),
        *_curve_wrong(lower, station, value - sd, picture, "lower edge"),
    ]


def _marks(truth: Truth, corner: int, picture: Along) -> Iterator[tuple[str, str, int, float]]:
    """Kind, role, lap and station of the marks a picture should hold."""
    for role, lap in _drawn(truth):
        if role == "other" or lap not in truth.laps_through(corner):
            continue
        for kind, name in MARKS.items():
            station = float(truth.passes[lap, corner][name])
            # At the very edge the rounding of the picture's ends decides.
            if picture.start_m - 0.006 <= station <= picture.end_m + 0.006:
                yield kind, role, lap, station


def test_marks_on_speeds(report: Report) -> None:
    page, truth, units = report
    complaints = []
    for corner, card in cards(page).items():
        for picture in along_in(card, "speed"):
            true = {(k, r): (n, s) for k, r, n, s in _marks(truth, corner, picture)}
            marks = picture.marks()
            assert sorted((k, r) for k, r, *_ in marks) == sorted(true)
            for kind, role, said, station, level in marks:
                lap, at = true[kind, role]
                where = f"corner {corner}, lap {lap}, {kind}"
                complaints += _title_wrong(truth, corner, lap, said, units)
                if abs(station - at) > 0.006 + 1e-5 * (picture.end_m - picture.start_m):
                    complaints.append(f"{where}: at {station} for {at}")
                curve = dict(picture.curves())[role]
                grid = _stations(picture, len(curve))
                speed = float(np.interp(at, grid, curve[:, 1]))
                if abs(level - speed) > picture.pixel + 1.1 * picture.unit:
                    complaints.append(f"{where}: {level} for {speed}")
    assert complaints == []


def _title_wrong(truth: Truth, corner: int, lap: int, said: str, units: str) -> list[str]:
    true = [exact(lap)]
    if "slowest" in said:
        slow = truth.passes[lap, corner]["min_speed_mps"] * factor("speed", units)
        true.append(True_(slow))
    return all_wrong(numbers_in(said), true, f"corner {corner}: {said}")


def test_corner_numbers_along_the_lap(report: Report) -> None:
    page, truth, _ = report
    complaints = []
    for picture in [p for kind in ("speed", "delta") for p in along_in(page, kind)]:
        inside = {
            n: row for n, row in truth.corners.iterrows()
            if picture.start_m <= row["apex_m"] <= picture.end_m
        }  # fmt: skip
        shown = picture.element.xpath("./*[@class='letters corner-numbers']/*")
        bends = picture.element.xpath(".//*[@class='bend']")
        assert [int(one.text) for one in shown] == list(inside)
        for text, bend, row in zip(shown, bends, inside.values(), strict=True):
            start = max(row["entry_m"], picture.start_m)
            end = min(row["exit_m"], picture.end_m)
            drawn = float(bend.get("x")), float(bend.get("width")), float(text.get("data-at"))
            off = np.abs(np.subtract(drawn, (start, end - start, row["apex_m"]))).max()
            complaints += [] if off <= 0.06 else [f"{text.text}: {drawn}, {start} to {end}"]
    assert complaints == []


def test_plans_of_corners(report: Report) -> None:
    page, truth, units = report
    complaints = []
    for corner, card in cards(page).items():
        plan = plan_in(card, "corner")
        assert (plan is not None) == (truth.best is not None)
        if plan is None:
            continue
        picture = along_in(card, "speed")[0]
        complaints += _lines_wrong(truth, plan, picture) + _bar_wrong(plan, units)
        true = {(k, r): (n, s) for k, r, n, s in _marks(truth, corner, picture)}
        marks = plan.marks()
        assert sorted((k, r) for k, r, *_ in marks) == sorted(true)
        for kind, role, said, place in marks:
            lap, at = true[kind, role]
            complaints += _title_wrong(truth, corner, lap, said, units)
            line = plan.curves()[role]
            grid = np.linspace(picture.start_m, picture.end_m, len(line))
            there = [float(np.interp(at, grid, line[:, k])) for k in (0, 1)]
            if np.hypot(*(place - there)) > 3.0 * plan.dot_m:
                complaints.append(f"corner {corner}, lap {lap}, {kind}: {place} for {there}")
    assert complaints == []


def _lines_wrong(truth: Truth, plan: PlanView, picture: Along) -> list[str]:
    curves, out = plan.curves(), []
    laps = dict(_drawn(truth)[-2:])
    assert set(curves) == set(laps)
    for role, lap in laps.items():
        trace = truth.trace(lap)
        s = np.linspace(picture.start_m, picture.end_m, len(curves[role]))
        true = np.stack([trace.at_station(f"{k}_m", s) for k in ("east", "north")], axis=-1)
        off = np.hypot(*(curves[role] - true).T)
        if off.max() > 2.0 * plan.dot_m:
            out.append(f"lap {lap}: off by {off.max()} m")
    return out


def _bar_wrong(plan: PlanView, units: str) -> list[str]:
    length, number, unit = plan.bar()
    far = split_units(units)[1]
    good = unit == far and abs(length * DISTANCE[far] - number) <= 2.0 * plan.dot_m * DISTANCE[far]
    return [] if good else [f"the bar of {number} {unit} is {length} m long"]


def test_plan_of_the_circuit(report: Report) -> None:
    page, truth, units = report
    plan = plan_in(page, "circuit")
    if plan is None:
        assert truth.best is None
        return
    track = truth.session.track
    path = truth.session.path
    road = plan.curves()["road"]
    point = path.at(np.linspace(0.0, track.length_m, len(road)))
    off = np.hypot(road[:, 0] - point.east_m, road[:, 1] - point.north_m)
    assert off.max() <= 2.0 * plan.dot_m
    gates = plan.gates()
    lines = {"start/finish line": track.start_finish}
    lines |= {f"line {k}": gate for k, gate in enumerate(track.sectors, start=1)}
    assert set(gates) == set(lines)
    for name, gate in lines.items():
        assert np.hypot(*(gates[name] - gate.centre_m)) <= 2.0 * plan.dot_m
    numbers = plan.numbers()
    assert set(numbers) == set(truth.corners.index)
    for corner, place in numbers.items():
        apex = path.at(np.mod(truth.corners.at[corner, "apex_m"], track.length_m))
        away = place - (float(apex.east_m), float(apex.north_m))
        heading = float(apex.heading_rad)
        left = float(away @ (-np.sin(heading), np.cos(heading)))
        # Beside its own apex, 15 of the picture's units to the inside.
        assert abs(np.hypot(*away) - 15.0 / plan.scale) <= 2.0 * plan.dot_m
        assert (left > 0.0) == (truth.corners.at[corner, "direction"] == "left")
    assert _bar_wrong(plan, units) == []
    assert re.fullmatch(r"Plan of .* with numbered corners", plan.element.get("aria-label"))

"""The page's other pictures, read back: lap times, bars of the ledger, grip; and its numbers."""

import re
from typing import Any

import numpy as np
from page_reading import numbers_block, only, path_points, percent, section, words
from picture_reading import PIXEL
from session_truth import DISTANCE, G_MPS2, Truth, factor, split_units
from shown import True_, all_wrong, exact, numbers_in, read

from lapwright.laps.lap_trace import LapTrace

Report = tuple[Any, Truth, str]

# Of the fastest time: slower laps are named below the picture.
SLOWEST_SHOWN = 1.06


def _texts(plot: Any, kind: str) -> list[Any]:
    return plot.xpath(f"./*[@class='{kind}']/*")


def _line_through(known: list[tuple[float, float]]) -> "np.poly1d":
    """From a place on an axis to its number, by all letters of the axis."""
    place, number = np.transpose(known)
    fit = np.poly1d(np.polyfit(place, number, 1))
    assert np.abs(fit(place) - number).max() <= 2.0 * PIXEL * abs(fit.coef[0]) + 1e-9
    return fit


def test_lap_chart(report: Report) -> None:
    page, truth, _ = report
    part = section(page, "laps")
    plots = part.xpath(".//div[@class='along']/*")
    assert len(plots) == bool(truth.timed)
    if not plots:
        return
    plot = plots[0]
    heights = [(float(t.get("y")) - 4.0, read(t.text)) for t in _texts(plot, "letters y")]
    to_time = _line_through([(y, shown.value) for y, shown in heights if shown])
    to_pixel = abs(to_time.coef[0]) * 2.0 * PIXEL
    times = truth.laps["time_s"]
    fast = float(times[truth.timed].min())
    dots = plot.xpath("./*[starts-with(@class, 'lap ')]")
    shown_laps, places = [], []
    complaints: list[str] = []
    for dot in dots:
        title = dot.xpath("./*[local-name()='title']")[0].text
        numbers = numbers_in(title)
        lap = int(getattr(numbers[0], "value", -1))
        shown_laps.append(lap)
        row = truth.laps.loc[lap]
        # Three decimals, as in the table's head of the best lap.
        complaints += all_wrong(numbers, [exact(lap), True_(row["time_s"], most=3)], title)
        circle = dot.xpath("./*[local-name()='circle']")[-1]
        whisker = dot.xpath("./*[local-name()='line']")[0]
        places.append((percent(circle.get("cx")), lap))
        low, high = (float(to_time(float(whisker.get(k)))) for k in ("y2", "y1"))
        drawn = (float(to_time(float(circle.get("cy")))), low, high)
        sd = row["time_sd_s"]
        wanted = (row["time_s"], row["time_s"] - sd, row["time_s"] + sd)
        if np.abs(np.subtract(drawn, wanted)).max() > to_pixel:
            complaints.append(f"{title}: {drawn} for {wanted}")
        role = "flagged" if lap not in truth.clean else "best" if lap == truth.best else "clean"
        complaints += [] if dot.get("class") == f"lap {role}" else [f"{title}: {dot.get('class')}"]
    assert complaints == []
    assert shown_laps == [n for n in truth.timed if times[n] <= SLOWEST_SHOWN * fast]
    legend = part.xpath("./p[@class='legend']")[0]
    left_out = numbers_in("".join(legend.xpath("./text()")))
    assert all_wrong(
        left_out, [exact(n) for n in truth.timed if n not in shown_laps]
    ) == []  # fmt: skip
    # Laps stand above their own numbers: the axis is evenly spaced.
    ticks = {int(t.text): percent(t.get("x")) for t in _texts(plot, "letters x")}
    first, last = min(truth.timed), max(truth.timed)
    for place, lap in [*places, *((p, n) for n, p in ticks.items())]:
        assert abs(place - (lap - first + 0.5) / (last - first + 1)) <= 0.51e-4


def test_ledger_bars(report: Report) -> None:
    page, truth, _ = report
    part, c = section(page, "ledger"), truth.comparison
    if part is None or c is None:
        return
    numbers = sorted({int(n) for n in c.ledger["corner"]})
    rows = part.xpath(".//tbody/tr")
    assert len(rows) == len(numbers)
    known: list[tuple[float, float]] = []
    for corner, row in zip(numbers, rows, strict=True):
        value, sd = truth.ledger_sum(corner)
        bar = row.xpath(".//*[local-name()='rect']")[0]
        zero = percent(row.xpath(".//*[@class='zero']")[0].get("x1"))
        start = percent(bar.get("x"))
        end = start + percent(bar.get("width"))
        whisker = row.xpath(".//*[@class='whisker']")[0]
        known += [(zero, 0.0), (end if value > 0.0 else start, value)]
        known += [(start if value > 0.0 else end, 0.0)]
        known += [(percent(whisker.get(f"x{k}")), value + s * sd) for k, s in ((1, -1), (2, 1))]
        role = "equal" if abs(value) < 2.0 * sd else "lost" if value > 0.0 else "gained"
        assert bar.get("class") == role
        assert row.xpath("./td")[0].get("class") == f"{role} sum"
    # One scale for all: shares are written to a hundredth of a percent.
    place, number = np.transpose(known)
    slope, zero = np.polyfit(place, number, 1)
    assert slope > 0.0
    assert np.abs(slope * place + zero - number).max() <= 1.6e-4 * slope
    # And the scale holds all of it.
    assert place.min() >= 0.0
    assert place.max() <= 1.0


def test_grip_picture(report: Report) -> None:
    page, truth, _ = report
    part = section(page, "grip")
    if part is None:
        return
    plot = only(part, ".//*[contains(@class, 'plan grip')]")
    half = 0.5 * float(plot.get("viewbox").split()[2])
    rings = [float(r.get("r")) for r in plot.xpath("./*[@class='ring' and @r]")]
    labels = [float(t.text.split()[0]) for t in plot.xpath("./*/*[@class='on']")]
    assert len(rings) == len(labels) > 0
    # The largest ring gives the scale best; it is written to a tenth.
    scale = rings[-1] / labels[-1]
    assert np.abs(np.array(rings) - scale * np.array(labels)).max() <= 0.11
    traces = [truth.trace(n) for n in truth.clean]
    side, along = (
        np.concatenate([getattr(t, f"accel_{k}_mps2")[t.inside] for t in traces]) / G_MPS2
        for k in ("lat", "long")
    )
    dots = np.array(re.findall(r"M(\d+) (\d+)h0", only(plot, ".//*[@class='dots']").get("d")))
    every = -(-len(side) // 5000)
    shown = dots.astype(float) / 10.0
    assert len(shown) == len(side[::every])
    true = half - scale * np.stack([side[::every], along[::every]], axis=-1)
    # A dot is drawn to a tenth; the scale is known to that at the largest ring.
    tolerance = 0.06 + 0.051 * np.hypot(side, along).max() / labels[-1]
    assert np.abs(shown - true).max() <= tolerance
    _check_envelope(truth, plot, half, scale, tolerance)


def _check_envelope(truth: Truth, plot: Any, half: float, scale: float, tolerance: float) -> None:
    envelope = truth.session.grip.envelope
    shown = path_points(only(plot, ".//*[@class='envelope']").get("d")) / 10.0
    assert len(shown) == 2 * len(envelope.direction_deg)
    reach = envelope.reached_mps2.max(axis=0) / G_MPS2
    turn = np.radians(envelope.direction_deg)
    right = np.stack([reach * np.cos(turn), reach * np.sin(turn)], axis=-1)
    both = np.concatenate([right, (right * (-1.0, 1.0))[::-1]])
    true = half + scale * both * (1.0, -1.0)
    assert np.abs(shown - true).max() <= 2.0 * tolerance


def test_numbers_for_the_script(report: Report) -> None:
    page, truth, units = report
    data = numbers_block(page)
    if truth.best is None:
        assert data == {}
        return
    session = truth.session
    length = session.track.length_m
    station = np.append(np.arange(0.0, length - 1e-6, data["step"]), length)
    speed, far = split_units(units)
    assert (data["best"], data["usual"]) == (truth.best, truth.usual)
    assert abs(data["length"] - length) <= 0.0051
    assert data["units"] == speed
    assert data["distance"] == [far, DISTANCE[far]]
    assert sorted(int(n) for n in data["laps"]) == truth.timed
    at, quick = session.delta_sds(truth.timed)
    best = truth.trace(truth.best)
    place = np.stack([best.at_station(f"{k}_m", station) for k in ("east", "north")])
    assert np.abs(np.array(data["place"]) / 10.0 - place).max() <= 0.051
    for lap, arrays in data["laps"].items():
        trace = truth.trace(int(lap))
        shown = {k: np.array(v, dtype=float) for k, v in arrays.items()}
        true = trace.at_station("speed_mps", station) * factor("speed", units)
        assert np.abs(shown["speed"] / 10.0 - true).max() <= 0.0501
        delta = _since_start(trace, station) - _since_start(best, station)
        # Whole milliseconds, and of the error bar whole tenths of one.
        assert np.abs(shown["delta"] / 1e3 - delta).max() <= 0.000501
        bars = np.interp(station, at, quick[truth.timed.index(int(lap))])
        if int(lap) == truth.usual and truth.comparison is not None:
            # As in the picture that stands there before another lap is chosen.
            bars = truth.comparison.delta["delta_sd_s"].to_numpy()
        assert np.abs(shown["sd"] / 1e4 - bars).max() <= 0.0000501
    for shown_corner, (corner, row) in zip(data["corners"], truth.corners.iterrows(), strict=True):
        assert shown_corner[:2] == [corner, row["name"]]
        off = np.subtract(shown_corner[2:], [row["entry_m"], row["exit_m"]])
        assert np.abs(off).max() <= 0.0501


def _since_start(trace: LapTrace, station: np.ndarray) -> np.ndarray:
    """Time since the line, by the lap's own crossings at its ends."""
    time = trace.time_at(station) - trace.start_s
    time[0], time[-1] = 0.0, trace.end_s - trace.start_s
    return time


def test_legends_name_the_laps_drawn(report: Report) -> None:
    page, truth, _ = report
    for name in ("along", "corners"):
        part = section(page, name)
        if part is None or truth.best is None:
            continue
        legend = words(part.xpath("./p[@class='legend']")[0])
        true = [exact(n) for n in (truth.best, truth.usual) if n is not None]
        assert all_wrong(numbers_in(legend), true, legend) == []

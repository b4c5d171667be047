"""What matplotlib draws, for notebooks and paper, is what the session's tables say."""

import warnings
from collections.abc import Iterator
from typing import Any

import matplotlib.pyplot as plt
import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.colors import to_hex
from readback_worlds import truth_of
from session_truth import G_MPS2, Truth, factor, split_units
from shown import numbers_in

from lapwright import plots
from lapwright.plots.drawing.palette import LIGHT
from lapwright.plots.drawing.style import SHEET
from lapwright.report.cards import corner_cards
from lapwright.report.pdf.corner_sheet import draw_card
from lapwright.report.pdf.sheet import Sheet
from lapwright.report.report_data import gather
from lapwright.units import Units

SHOWN = (
    ("missing_passes", "mph,ft"), ("slow_lap", "km/h"), ("no_clean_lap", "km/h"),
)  # fmt: skip
MARKERS = {
    "s": "brake_station_m", "o": "min_speed_station_m", "^": "throttle_station_m",
}  # fmt: skip


@pytest.fixture(params=SHOWN, ids=lambda p: f"{p[0]}-{p[1]}")
def shown(request: pytest.FixtureRequest) -> Iterator[tuple[Truth, str]]:
    name, units = request.param
    yield truth_of(name), units
    plt.close("all")


def _lines(ax: Axes, label: str | None = None) -> list[np.ndarray]:
    """Points of the lines with more than two of them, by their label where given."""
    return [
        np.asarray(line.get_xydata(), dtype=np.float64)
        for line in ax.lines
        if len(line.get_xydata()) > 2
        and line.get_marker() == "None"
        and label in (None, line.get_label())
    ]


def _close(shown: np.ndarray, *true: Any) -> None:
    np.testing.assert_allclose(shown, np.stack(np.broadcast_arrays(*true), axis=-1), atol=1e-9)


def _points(ax: Axes) -> dict[tuple[float, float], float]:
    """Lap and time of error-barred marks, with half their bars."""
    out = {}
    for container in ax.containers:
        line, _, bars = container
        for (x, y), bar in zip(line.get_xydata(), bars[0].get_segments(), strict=True):
            out[float(x), float(y)] = 0.5 * float(bar[1][1] - bar[0][1])
    return out


def test_lap_times(shown: tuple[Truth, str]) -> None:
    truth, _ = shown
    ax = plots.lap_times(truth.session.laps, best=truth.best)
    times = truth.laps["time_s"]
    near = [n for n in truth.timed if times[n] <= 1.06 * times[truth.timed].min()]
    found = _points(ax)
    assert sorted(found) == sorted((float(n), float(times[n])) for n in near)
    for (lap, _), sd in found.items():
        assert sd == pytest.approx(truth.laps.at[int(lap), "time_sd_s"], abs=1e-9)
    texts = [(t.xy[0], t.get_text()) for t in ax.texts]
    far = {int(x): text for x, text in texts if int(x) not in near}
    assert set(far) == set(truth.timed) - set(near)
    for lap, text in far.items():
        assert abs(getattr(numbers_in(text)[0], "value", 0.0) - times[lap]) <= 0.0501
    best = [(x, text) for x, text in texts if text.startswith("best")]
    assert [int(x) for x, _ in best] == ([] if truth.best is None else [truth.best])
    for x, text in best:
        assert abs(getattr(numbers_in(text)[0], "value", 0.0) - times[int(x)]) <= 0.000501


def test_delta(shown: tuple[Truth, str]) -> None:
    truth, units = shown
    c = truth.comparison
    if c is None:
        pytest.skip("there are no two laps to compare")
    ax = plots.delta(c, corners=truth.session.corners, units=units)
    table = c.delta
    _close(_lines(ax, f"lap {c.lap}")[0], table["station_m"], table["delta_s"])
    band = ax.collections[-1].get_paths()[0].vertices
    for sign in (-1.0, 1.0):
        edge = np.stack([table["station_m"], table["delta_s"] + sign * table["delta_sd_s"]], -1)
        assert all(np.abs(band - point).sum(axis=1).min() < 1e-9 for point in edge)
    assert f"lap {c.lap} to lap {c.reference}" in ax.get_title(loc="left")


def test_ledger(shown: tuple[Truth, str]) -> None:
    truth, _ = shown
    c = truth.comparison
    if c is None:
        pytest.skip("there are no two laps to compare")
    ax = plots.ledger(c)
    table = c.ledger[c.ledger["end_m"] > c.ledger["start_m"]]
    labels = [text.get_text() for text in ax.get_yticklabels()]
    rows = table.to_dict("records")
    own = [f"{row['corner']} {row['stretch']}" for row in rows]
    first = "from the line" if c.track.corners else "the lap"
    assert labels == [first if one == "0 straight" else one for one in own]
    bars = {round(bar.get_y() + 0.5 * bar.get_height()): bar.get_width() for bar in ax.patches}
    whiskers = ax.collections[-1].get_segments()
    for place, (row, whisker) in enumerate(zip(rows, whiskers, strict=True)):
        assert bars[place] == pytest.approx(row["difference_s"], abs=1e-12)
        low, high = row["difference_s"] - row["difference_sd_s"], whisker[1][0]
        assert whisker[0][0] == pytest.approx(low, abs=1e-9)
        assert high == pytest.approx(low + 2.0 * row["difference_sd_s"], abs=1e-9)
        assert whisker[0][1] == place


def test_speeds(shown: tuple[Truth, str]) -> None:
    truth, units = shown
    scale = factor("speed", units)
    traces = [truth.trace(n) for n in truth.timed[:3]]
    ax = plots.speed(traces, corners=truth.session.corners, units=units)
    for trace in traces:
        part = trace.inside
        line = _lines(ax, f"lap {trace.lap}")[0]
        _close(line, trace.station_m[part], trace.speed_mps[part] * scale)
    assert split_units(units)[0] in ax.get_ylabel()
    axes = plots.corner_speeds(traces, truth.session.corners, best=traces[0].lap, units=units)
    assert len(axes) == len(truth.corners)
    for ax, (corner, row) in zip(axes, truth.corners.iterrows(), strict=True):
        assert ax.get_title(loc="left") in (truth.label(int(str(corner))), f"corner {corner}")
        drawn = _lines(ax)
        # The best lap lies above the others.
        for line, trace in zip(drawn, [*traces[1:], traces[0]], strict=True):
            true = np.interp(line[:, 0] + row["apex_m"], trace.station_m, trace.speed_mps) * scale
            np.testing.assert_allclose(line[:, 1], true, atol=1e-6)


def test_lines_and_grip(shown: tuple[Truth, str]) -> None:
    truth, units = shown
    corner = int(truth.corners.index[-1])
    apex = truth.corners.at[corner, "apex_m"]
    traces = [truth.trace(n) for n in truth.timed[:3]]
    ax = plots.lines(traces, truth.session.corners, corner, units=units)
    for trace in traces:
        line = _lines(ax, f"lap {trace.lap}")[0]
        true = np.interp(line[:, 0] + apex, trace.station_m, trace.offset_m)
        np.testing.assert_allclose(line[:, 1], true, atol=1e-6)
    ax = plots.grip(traces, envelope=truth.session.grip.envelope)
    dots = next(line.get_xydata() for line in ax.lines if line.get_marker() == ".")
    lateral, along = (
        np.concatenate([getattr(t, f"accel_{k}_mps2")[t.inside] for t in traces]) / G_MPS2
        for k in ("lat", "long")
    )
    _close(dots, -lateral, along)


def test_maps(shown: tuple[Truth, str]) -> None:
    truth, units = shown
    trace = truth.trace(truth.timed[0])
    with warnings.catch_warnings():
        ax = plots.speed_map(trace, corners=truth.session.corners, units=units)
    ribbon = ax.collections[-1]
    part = trace.inside
    speed = trace.speed_mps[part] * factor("speed", units)
    np.testing.assert_allclose(ribbon.get_array(), 0.5 * (speed[1:] + speed[:-1]), atol=1e-9)
    ends = np.array(ribbon.get_segments())[:, 0]
    _close(ends, trace.east_m[part][:-1], trace.north_m[part][:-1])
    c = truth.comparison
    if c is None:
        return
    ribbon = plots.time_lost_map(c, corners=truth.session.corners, units=units).collections[-1]
    # Milliseconds a metre or foot, summed over the lap, are the time lost.
    length = np.diff(c.lap_trace.station_m[c.lap_trace.inside]) * factor("far", units)
    total = float((ribbon.get_array() * length).sum()) / 1e3
    assert total == pytest.approx(c.time_difference_s, abs=0.01)


def _sheets(truth: Truth, units: str) -> Iterator[tuple[int, list[Axes]]]:
    """Axes of every corner's sheet of paper."""

    class Pages:
        """Takes finished sheets."""

        def savefig(self, figure: Any) -> None:
            """Do nothing: only what stands on them is wanted."""

    material, shown = gather(truth.session), Units.parse(units)
    with plt.style.context(SHEET):
        for card in corner_cards(material, shown, pictures=False):
            sheet = Sheet(Pages(), "Not official timing.")  # type: ignore[arg-type]
            draw_card(sheet, material, card, shown)
            yield card.number, list(sheet.figure.axes)


def test_cards_on_paper(shown: tuple[Truth, str]) -> None:
    truth, units = shown
    drawn = 0
    for corner, (speed, delta, line, plan) in _sheets(truth, units):
        drawn += 1
        apex = truth.corners.at[corner, "apex_m"]
        _check_card_lines(truth, apex, speed, line, units)
        c = truth.comparison
        if c is not None:
            inside = c.delta["station_m"].between(*(np.array(delta.get_xlim()) + apex))
            table = c.delta[inside]
            _close(_lines(delta)[0], table["station_m"] - apex, table["delta_s"])
        _check_card_marks(truth, corner, speed, plan, units)
    assert drawn == len(truth.corners)


def _order(truth: Truth) -> list[int]:
    rest = [n for n in truth.clean if n not in (truth.best, truth.usual)]
    return rest + [n for n in (truth.usual, truth.best) if n is not None]


def _check_card_lines(truth: Truth, apex: float, speed: Axes, line: Axes, units: str) -> None:
    offsets = _lines(line)
    for k, (lap, points) in enumerate(zip(_order(truth), _lines(speed), strict=True)):
        trace = truth.trace(lap)
        station = points[:, 0] + apex
        true = np.interp(station, trace.station_m, trace.speed_mps) * factor("speed", units)
        np.testing.assert_allclose(points[:, 1], true, atol=1e-6)
        if len(truth.clean) > 1:
            clean = [truth.trace(n).at_station("offset_m", station) for n in truth.clean]
            aside = trace.at_station("offset_m", station) - np.median(clean, axis=0)
            np.testing.assert_allclose(offsets[k][:, 1], aside, atol=1e-6)


def _check_card_marks(
    truth: Truth, corner: int, speed: Axes, plan: Axes, units: str
) -> None:  # fmt: skip
    """Marks of the best lap are filled, those of the usual hollow, each at its own place."""
    apex = truth.corners.at[corner, "apex_m"]
    low, high = np.array(speed.get_xlim()) + apex
    wanted = {}
    for lap, colour in ((truth.usual, LIGHT.usual), (truth.best, LIGHT.best)):
        if lap is None or lap not in truth.laps_through(corner):
            continue
        for marker, name in MARKERS.items():
            station = truth.passes[lap, corner][name]
            if low <= station <= high:
                trace = truth.trace(lap)
                value = float(trace.at_station("speed_mps", station)) * factor("speed", units)
                place = [float(trace.at_station(f"{k}_m", station)) for k in ("east", "north")]
                wanted[marker, to_hex(colour)] = ((station - apex, value), place)
    for ax, which in ((speed, 0), (plan, 1)):
        marks = [one for one in ax.lines if one.get_marker() in MARKERS]
        found = {(m.get_marker(), to_hex(m.get_color())): m.get_xydata()[0] for m in marks}
        assert len(found) == len(marks)
        assert set(found) == set(wanted)
        for key, place in found.items():
            np.testing.assert_allclose(place, wanted[key][which], atol=1e-6)


def test_bars_of_the_ledger_on_paper(shown: tuple[Truth, str]) -> None:
    from lapwright.report.headline import corner_sums
    from lapwright.report.pdf.document import _bars

    truth, _ = shown
    if truth.comparison is None:
        pytest.skip("there are no two laps to compare")
    ax = plt.figure().add_subplot()
    _bars(ax, sorted(corner_sums(gather(truth.session))))
    numbers = sorted({int(n) for n in truth.comparison.ledger["corner"]})
    for corner, bar, whisker in zip(numbers, ax.patches, ax.collections, strict=True):
        value, sd = truth.ledger_sum(corner)
        assert bar.get_width() == pytest.approx(value, abs=1e-12)
        (start, place), (end, _) = whisker.get_segments()[0]
        assert (start, end) == pytest.approx((value - sd, value + sd), abs=1e-9)
        assert place == pytest.approx(bar.get_y() + 0.5 * bar.get_height())

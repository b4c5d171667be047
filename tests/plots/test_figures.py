"""What all figures promise: Axes in, Axes out, units on the axes, no trace left behind."""

import re
from collections.abc import Callable

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
import pytest
from matplotlib import rcParams
from matplotlib.axes import Axes
from worlds import World

from lapwright import plots
from lapwright.laps.comparison import Comparison

Draw = Callable[[World, Comparison, Axes | None], Axes]

FIGURES: dict[str, Draw] = {
    "lap_times": lambda w, c, ax: plots.lap_times(w.session.laps, ax, w.session.best_lap),
    "delta": lambda w, c, ax: plots.delta(c, ax, w.session.corners),
    "speed": lambda w, c, ax: plots.speed([c.lap_trace, c.reference_trace], ax, w.session.corners),
    "speed_map": lambda w, c, ax: plots.speed_map(c.lap_trace, ax, w.session.corners),
    "time_lost_map": lambda w, c, ax: plots.time_lost_map(c, ax, w.session.corners),
    "grip": lambda w, c, ax: plots.grip([c.lap_trace], ax, w.session.grip.envelope),
    "ledger": lambda w, c, ax: plots.ledger(c, ax),
    "lines": lambda w, c, ax: plots.lines(
        [c.lap_trace, c.reference_trace], w.session.corners, 4, ax
    ),
    "track_preview": lambda w, c, ax: plots.track_preview(w.session.track, ax),
}
UNIT = re.compile(r"\[(s|m|g|ms/m|km/h|mph|min:s)\]")
# Axes that count laps or name stretches have no unit.
BARE = {"lap", "corner and stretch"}


@pytest.mark.parametrize("name", FIGURES)
def test_returns_axes_with_units_and_leaves_the_style_alone(
    name: str, drawn: World, comparison: Comparison
) -> None:
    before = dict(rcParams)
    ax = FIGURES[name](drawn, comparison, None)
    assert dict(rcParams) == before
    for label in (ax.get_xlabel(), ax.get_ylabel()):
        assert UNIT.search(label) or label in BARE, label
    ax.figure.canvas.draw()


@pytest.mark.parametrize("name", FIGURES)
def test_draws_on_the_axes_it_is_given(name: str, drawn: World, comparison: Comparison) -> None:
    figure, ax = plt.subplots()
    assert FIGURES[name](drawn, comparison, ax) is ax
    # A map brings a colour bar along; nothing else may make another figure.
    assert plt.get_fignums() == [figure.number]
    assert ax.has_data()


@pytest.mark.parametrize("count", [1, 2, 3])
def test_few_laps_stand_on_whole_numbers_and_no_time_is_written_twice(
    drawn: World, count: int
) -> None:
    laps = drawn.session.laps
    few = laps[laps["lap"].isin(laps.loc[laps["kind"] == "timed", "lap"].iloc[:count])]
    ax = plots.lap_times(few, best=int(few["lap"].iloc[0]))
    ax.figure.canvas.draw()
    shown = [
        [t for t, at in zip(axis.get_ticklabels(), axis.get_ticklocs(), strict=True)
         if low <= at <= high]
        for axis, (low, high) in ((ax.xaxis, ax.get_xlim()), (ax.yaxis, ax.get_ylim()))
    ]  # fmt: skip
    assert [t.get_text() for t in shown[0]] == [str(n) for n in few["lap"]]
    times = [t.get_text() for t in shown[1]]
    assert len(times) > 1
    assert len(set(times)) == len(times)


def test_delta_draws_the_numbers_of_the_table(comparison: Comparison) -> None:
    ax = plots.delta(comparison)
    line = next(x for x in ax.lines if x.get_label() == f"lap {comparison.lap}")
    np.testing.assert_array_equal(line.get_xdata(), comparison.delta["station_m"])
    np.testing.assert_array_equal(line.get_ydata(), comparison.delta["delta_s"])
    band = ax.collections[0].get_paths()[0].vertices[:, 1]
    sd = comparison.delta["delta_sd_s"]
    assert band.max() == pytest.approx((comparison.delta["delta_s"] + sd).max(), abs=1e-12)


def test_speed_is_drawn_in_the_chosen_unit(comparison: Comparison) -> None:
    trace = comparison.lap_trace
    for units, factor in (("km/h", 3.6), ("mph", 3600.0 / 1609.344)):  # mile of 1959, exact
        line = plots.speed([trace], units=units).lines[0]
        top = float(np.max(line.get_ydata()))
        assert top == pytest.approx(factor * trace.speed_mps[trace.inside].max(), rel=1e-12)


@pytest.mark.parametrize("name", ["delta", "speed", "lines", "speed_map", "time_lost_map"])
def test_distances_are_read_in_feet_when_asked(
    name: str, drawn: World, comparison: Comparison
) -> None:
    corners, trace = drawn.session.corners, comparison.lap_trace
    ax = {
        "delta": lambda: plots.delta(comparison, None, corners, "mph,ft"),
        "speed": lambda: plots.speed([trace], None, corners, "mph,ft"),
        "lines": lambda: plots.lines([trace], corners, 4, None, "mph,ft"),
        "speed_map": lambda: plots.speed_map(trace, None, corners, "mph,ft"),
        "time_lost_map": lambda: plots.time_lost_map(comparison, None, corners, "mph,ft"),
    }[name]()
    assert "[ft]" in ax.get_xlabel()
    ax.figure.canvas.draw()
    low, high = ax.get_xlim()
    shown = [
        (place, float(label.get_text().replace("\N{MINUS SIGN}", "-")))
        for place, label in zip(ax.get_xticks(), ax.get_xticklabels(), strict=True)
        if low <= place <= high
    ]
    assert len(shown) >= 3
    for place, value in shown:
        # Drawn in metres still: 0.3048 m to the foot (1959), and the number is a round one.
        assert place == pytest.approx(0.3048 * value, abs=1e-6)
        assert value == round(value)


def test_ledger_bars_are_the_ledger(comparison: Comparison) -> None:
    ax = plots.ledger(comparison)
    table = comparison.ledger
    drawn = sorted(bar.get_width() for bar in ax.patches)
    kept = table.loc[table["end_m"] > table["start_m"], "difference_s"]
    np.testing.assert_allclose(drawn, sorted(kept), rtol=0, atol=0)


def test_corner_speeds_has_one_axes_a_corner(drawn: World) -> None:
    session = drawn.session
    traces = [
        session.trace(int(n)) for n in session.laps.loc[session.laps["representative"], "lap"]
    ]
    axes = plots.corner_speeds(traces, session.corners, best=session.best_lap)
    assert len(axes) == len(session.corners)
    for ax, corner in zip(axes, session.corners.to_dict("records"), strict=True):
        assert len(ax.lines) == len(traces)
        assert str(corner["corner"]) in ax.get_title(loc="left")


def test_grip_has_left_corners_on_the_left(comparison: Comparison) -> None:
    trace = comparison.lap_trace
    dots = next(x for x in plots.grip([trace]).lines if x.get_marker() == ".")
    # Standard gravity 9.80665 m/s2, 3rd CGPM 1901; lateral is positive to the left (ISO 8855).
    np.testing.assert_allclose(
        dots.get_xdata(), -trace.accel_lat_mps2[trace.inside] / 9.80665, rtol=1e-12
    )


def test_slow_lap_is_named_at_the_edge_instead_of_squeezing_the_others() -> None:
    times = [95.0, 95.4, 140.0]
    laps = pd.DataFrame(
        {
            "lap": [1, 2, 3], "kind": "timed", "time_s": times, "time_sd_s": 0.01,
            "flags": [(), (), ("slow",)], "representative": [True, True, False],
        }
    )  # fmt: skip
    ax = plots.lap_times(laps, best=1)
    assert ax.get_ylim()[1] < 97.0
    assert any("2:20.0" in text.get_text() for text in ax.texts)


def test_empty_data_warn_and_still_give_axes() -> None:
    laps = pd.DataFrame(
        {"lap": [], "kind": [], "time_s": [], "time_sd_s": [], "flags": [], "representative": []}
    )
    with pytest.warns(UserWarning, match="no timed lap"):
        assert isinstance(plots.lap_times(laps), Axes)
    with pytest.warns(UserWarning, match="no lap to draw"):
        assert isinstance(plots.speed([]), Axes)
    with pytest.warns(UserWarning, match="no lap to draw"):
        assert isinstance(plots.grip([]), Axes)


def test_the_preview_shows_names_and_every_line(drawn: World) -> None:
    track = drawn.session.track
    named = track.with_sector_at(track.corners[0].apex_m).with_corner_names({1: "Old Barn"})
    ax = plots.track_preview(named)
    texts = [text.get_text() for text in ax.texts]
    assert "1 Old Barn" in texts
    assert "1" not in texts
    number = next(text for text in ax.texts if text.get_text() == "1 Old Barn")
    # A sector line at an apex lies over the number there.
    lines = [x for x in ax.lines if len(x.get_xdata()) == 2]
    assert len(lines) == 1 + len(named.sectors)
    assert min(x.get_zorder() for x in lines) > number.get_zorder()
    # Nothing is written twice: a corner without a name has its number only.
    texts = [text.get_text() for text in plots.track_preview(track).texts]
    assert texts.count(str(len(track.corners))) <= 1

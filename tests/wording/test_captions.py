"""The words of captions: signs, digits, and nothing where nothing is known."""

import math

import pytest

from lapwright.units import Units
from lapwright.wording.captions import caption_lines, delta_text, done_line, short_name

NAN = math.nan
ROW = {
    "lap": 7, "kind": "timed", "lap_time_s": 59.96, "delta_s": -1.5, "delta_sd_s": 0.3,
    "speed_mps": 10.0, "corner": 0, "pit_lane": False,
}  # fmt: skip


@pytest.mark.parametrize(
    ("delta", "sd", "said"),
    [
        (0.2, 0.03, "+0.20 ± 0.03 s"), (-0.2, 0.03, "-0.20 ± 0.03 s"), (12.3, 0.4, "+12.3 ± 0.4 s"),
        (0.05, 0.03, "equal"), (0.0, 0.0, "equal"), (1e-6, 1e-7, "equal"), (NAN, NAN, ""),
        (0.004, 0.0012, "+0.004 ± 0.001 s"),
    ],
)  # fmt: skip
def test_delta(delta: float, sd: float, said: str) -> None:
    assert delta_text(delta, sd) == said


def test_lines() -> None:
    # A second is full where a tenth rounds up to it.
    assert caption_lines(ROW, {}, Units()) == ["Lap 7  1:00.0  -1.5 ± 0.3 s", "36 km/h"]
    out = ROW | {"kind": "out", "lap_time_s": NAN, "delta_s": NAN, "pit_lane": True}
    assert caption_lines(out, {}, Units("m/s")) == ["Out lap", "10 m/s  pit lane"]
    hole = ROW | {"kind": "in", "delta_s": NAN, "speed_mps": NAN}
    assert caption_lines(hole, {}, Units()) == ["In lap  1:00.0", "gap in the log"]
    best = ROW | {"delta_s": NAN, "corner": 3}
    assert caption_lines(best, {3: ""}, Units(), reference=True) == [
        "Lap 7  1:00.0  reference lap", "36 km/h  Corner 3",
    ]  # fmt: skip


def test_a_lap_set_aside_says_why() -> None:
    lap = {"lap": 3, "time_s": 120.25, "time_sd_s": 0.02, "flags": ("slow", "bridged")}
    assert done_line(lap, NAN, NAN) == "Lap 3: 2:00.25 ± 0.02 s, set aside: slow"


def test_names() -> None:
    assert short_name("Häfele") == "Häfele"
    assert short_name("a" * 32) == "a" * 32
    assert short_name("a" * 33) == "a" * 31 + "…"
    assert short_name("גשר") == "\u2068גשר\u2069"
    assert short_name("line\r\none\n\nmore") == "line one more"

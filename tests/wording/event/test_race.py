"""What is said of a race: never more than the numbers hold."""

import math
from typing import Any

import pytest
from race_worlds import mine

from lapwright.notes.weekend_notes import LogNotes
from lapwright.session import first_lap
from lapwright.units import Units
from lapwright.wording.event.race import (
    _held_up_text,
    fade_text,
    first_lap_text,
    race_in_words,
    standing_text,
    start_lines,
    stint_text,
)


def _stint(fade: float, low: float, high: float, laps: int = 8) -> dict[str, Any]:
    return {
        "stint": 2, "first_lap": 4, "last_lap": 12, "clean_laps": laps, "median_s": 95.5,
        "spread_s": 0.3, "fade_laps": laps, "fade_s_per_lap": fade,
        "fade_low95_s_per_lap": low, "fade_high95_s_per_lap": high,
    }  # fmt: skip


def test_a_fade_is_claimed_only_where_its_interval_leaves_out_zero() -> None:
    session = mine().session
    assert fade_text(session, _stint(0.18, 0.05, 0.31)) == (
        "each lap about 0.18 s slower than the one before, +0.05 to +0.31 s a lap (95 % interval)"
    )
    quicker = fade_text(session, _stint(-0.18, -0.31, -0.05))
    assert "0.18 s quicker than the one before" in quicker
    assert fade_text(session, _stint(0.18, -0.02, 0.31)).startswith(
        "no fade that these laps can show: \N{MINUS SIGN}0.02 to +0.31 s a lap"
    )


def test_without_a_fade_the_reason_is_said() -> None:
    session = mine().session
    few = _stint(math.nan, math.nan, math.nan, laps=4)
    assert "at least 5 are needed" in fade_text(session, few)
    drying = session.with_notes(LogNotes(conditions="damp, then dry"))
    said = fade_text(drying, _stint(math.nan, math.nan, math.nan))
    assert "the notes say that the track changed (damp, then dry)" in said


def test_a_stint_is_named_by_its_laps() -> None:
    session = mine().session
    row = _stint(math.nan, math.nan, math.nan, laps=1)
    assert stint_text(session, row).startswith("Stint 2, laps 4 to 12: median 1:35.50 of 1 clean l")
    one = row | {"first_lap": 12, "clean_laps": 0}
    assert stint_text(session, one) == "Stint 2, lap 12: no clean lap."


@pytest.mark.parametrize(
    ("standing", "said"),
    [
        (0.0, "driven through without stopping"), (math.nan, "how long it stood cannot be told"),
        (22.0, "standing for 22.00 ± 0.02 s"),
    ],
)  # fmt: skip
def test_how_long_it_stood(standing: float, said: str) -> None:
    assert standing_text({"standing_s": standing, "standing_sd_s": 0.02}) == said


def test_what_shows_that_a_lap_was_held_up() -> None:
    row = {
        "lap": 6, "start_m": 100.0, "end_m": 300.0, "lost_s": 1.24, "lost_spread_s": 0.06,
        "lifted_mps": 0.0, "slow_m": 0.0, "aside_m": -3.2,
    }  # fmt: skip
    assert _held_up_text(row, Units()) == (
        "Lap 6 looks held up: 1.2 s lost between 100 and 300 m after the start line (other clean "
        "laps vary by 0.06 s there), 3 m right of your usual line."
    )
    slow = _held_up_text(row | {"aside_m": 0.0, "slow_m": 120.0}, Units("mph", "ft"))
    assert "between 328 and 984 ft" in slow
    assert slow.endswith("much slower than any other clean lap for 394 ft.")


def test_the_start_in_one_line_and_in_a_sentence() -> None:
    session = mine().session
    (line,) = start_lines(session)
    row = session.launches.iloc[0]
    assert line.startswith("Standing start: to 60 km/h in ")
    assert f"to 100 km/h in {row['to_100_kmh_s']:.3f}"[:-1] in line
    assert len(line) <= 80
    assert race_in_words(session)[0].startswith("Standing start, lap 1: to 60 km/h in ")


def test_the_first_lap_is_slower_and_most_is_lost_at_the_start() -> None:
    session = mine().session
    said = first_lap_text(session, first_lap(session))
    assert "slower than lap" in said
    assert "most was lost here: start to corner 1 " in said
    assert first_lap_text(session, None) == ""


def test_nothing_is_phrased_as_a_dare() -> None:
    text = " ".join(race_in_words(mine().session)).casefold()
    for word in ("should", "faster", "later", "harder", "push", "attack", "defend"):
        assert word not in text

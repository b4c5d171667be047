"""
Lightly damaged logs: a lap keeps its time, or is set aside and the damage said with its lines.

A small part of `.ci/lies.py`; what a lie is stands in `damage.lies`.
"""

import pytest
from damage.lies import judge
from damage.light import DAMAGES, damaged, lightly_damaged
from hypothesis import HealthCheck, given, settings

from lapwright.errors import LapwrightError
from lapwright.ingest import read_log

# One notation after the other; a kart's log is short and yet has six laps.
KINDS = ("kart 5 Hz no speed", "kart 5 Hz gpx", "kart 10 Hz nmea")


@pytest.mark.parametrize("damage", DAMAGES)
def test_no_lap_lies(damage) -> None:
    number = list(DAMAGES).index(damage)
    verdict = judge(KINDS[number % len(KINDS)], damage, seed=number)
    assert verdict.lies == []
    assert verdict.refused == ""
    # At most the lap before the damage and the one behind it.
    assert verdict.within_two >= verdict.laps - 2


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.thorough
@pytest.mark.parametrize("damage", ["another_day", "swapped_blocks", "changed_characters"])
def test_what_can_be_put_right_costs_no_lap(kind, damage) -> None:
    verdict = judge(kind, damage, seed=100)
    assert verdict.within_two == verdict.laps, verdict


@settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(case=lightly_damaged())
def test_light_damage_is_read_and_said(case, tmp_path_factory) -> None:
    good, lines = damaged(*case)
    file = good.write(tmp_path_factory.mktemp("damaged"), lines)
    try:
        log = read_log(file)
    except LapwrightError as error:
        pytest.fail(str(error))
    whole = read_log(good.write(tmp_path_factory.mktemp("good"), good.lines))
    # Of times rounded coarser than the rate one in five stands there twice; where damage hides the
    # grid they came from, the first of each is kept.
    assert len(log.fixes) >= 0.75 * len(whole.fixes)
    assert log.fixes["time_s"].is_monotonic_increasing
    if lines != list(good.lines) and len(log.fixes) != len(whole.fixes):
        assert len(log.findings) > len(whole.findings)

from dataclasses import replace

import numpy as np
import pytest

from lapwright import simulate as sim
from lapwright.discovery.discover import discover_track
from lapwright.discovery.ground_height import ground_height
from lapwright.discovery.loop.reference import complete_track
from lapwright.geometry.track import Track
from lapwright.ingest.log import Log


@pytest.fixture(scope="module")
def log() -> Log:
    circuit = sim.invented("wren_hollow")
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((3,)), seed=1)
    return sim.receive(run, sim.ORDINARY, seed=2).log()


def with_heights(log: Log, height_m: object) -> Log:
    return replace(log, fixes=log.fixes.assign(height_m=height_m))


def test_usual_height_is_the_median_of_what_can_be_a_road(log) -> None:
    heights = np.full(len(log.fixes), 312.0)
    heights[::5] = np.nan
    heights[1::7] = 8.4e6
    assert ground_height(with_heights(log, heights)) == 312.0
    # The Dead Sea road, -430 m, and a mountain track.
    assert ground_height(with_heights(log, -430.0)) == -430.0
    assert ground_height(with_heights(log, 4300.0)) == 4300.0


def test_no_height_is_height_zero(log) -> None:
    assert ground_height(replace(log, fixes=log.fixes.drop(columns="height_m"))) == 0.0
    assert ground_height(with_heights(log, np.nan)) == 0.0
    assert ground_height(replace(log, fixes=log.fixes.iloc[:0])) == 0.0


@pytest.mark.parametrize("silly_m", [85_000.0, -9_999.0, 1e30, np.inf])
def test_heights_no_road_has_are_not_believed(log, silly_m) -> None:
    silly = with_heights(log, silly_m)
    found = discover_track(silly)
    assert found.track.plane.height_m == 0.0
    without = discover_track(replace(log, fixes=log.fixes.drop(columns="height_m")))
    assert found.track.length_m == pytest.approx(without.track.length_m, abs=1e-6)
    # The same for a track file that has lines only.
    lines = Track("lines", replace(found.track.plane), found.track.start_finish)
    assert complete_track(lines, silly).plane.height_m == 0.0

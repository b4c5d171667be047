"""Where a car was off or turned round, on mappings made by hand, and the corners it concerns."""

from types import SimpleNamespace
from typing import cast

import numpy as np
import pandas as pd
import pytest

from lapwright.corners.incidents import corners_with_incidents, incident_stations
from lapwright.geometry import Corner
from lapwright.geometry.path import ReferencePath
from lapwright.laps.track_mapping import TrackMapping

LENGTH_M = 1000.0
STEP_M = 2.0


def mapping(
    forward_m: np.ndarray, across_m: np.ndarray, *, aside: "slice | None" = None,
    speed_mps: "np.ndarray | None" = None,
) -> TrackMapping:  # fmt: skip
    """Fixes ten a second, stepping forward and across by so much; the first at station 0."""
    n = len(forward_m)
    station, side = np.cumsum(forward_m), np.cumsum(across_m)
    speed = 10.0 * np.hypot(forward_m, across_m) if speed_mps is None else speed_mps.copy()
    # The first step comes from somewhere too.
    speed[0] = speed[1]
    away = np.zeros(n)
    if aside is not None:
        away[aside] = 15.0
    return TrackMapping(
        cast("ReferencePath", SimpleNamespace(length_m=LENGTH_M)), 0.1 * np.arange(n),
        np.stack([station, side], axis=1), speed, station, np.zeros(n), away, np.ones(n),
        np.zeros(n, dtype=bool),
    )  # fmt: skip


def lap(*flags: str, start_s: float = 0.0, end_s: float = 1e3) -> pd.DataFrame:
    return pd.DataFrame({"flags": [tuple(flags)], "start_s": [start_s], "end_s": [end_s]})


def steady(n: int = 100) -> tuple[np.ndarray, np.ndarray]:
    forward = np.full(n, STEP_M)
    forward[0] = 0.0
    return forward, np.zeros(n)


def test_off_the_path_is_where_the_car_was_beside_the_track() -> None:
    m = mapping(*steady(), aside=slice(40, 43))
    # Two metres a fix: the 40th to the 42nd lie at 80, 82 and 84 m.
    assert incident_stations(m, lap("off_path")).tolist() == [80.0, 82.0, 84.0]
    # Nothing else looks beside the track, and a lap without trouble is not searched.
    assert incident_stations(m, lap("reversed")).size == 0
    assert incident_stations(m, lap("slow")).size == 0
    assert incident_stations(m, lap()).size == 0


@pytest.mark.parametrize("flag", ["spin", "reversed"])
def test_turned_round_is_where_the_way_does_not_lead_forward(flag: str) -> None:
    forward, across = steady()
    forward[50:53] = -STEP_M
    m = mapping(forward, across)
    # The 49th lies at 98 m; from there 2 m back each.
    assert incident_stations(m, lap(flag)).tolist() == [96.0, 94.0, 92.0]


def test_less_than_half_forward_is_across() -> None:
    # Steps of 2 m, of which 45 % and 55 % lead forward (sin and cos of one angle: Pythagoras).
    shares = np.array([0.45, 0.55])
    forward, across = steady()
    forward[50:52], across[50:52] = STEP_M * shares, STEP_M * np.sqrt(1.0 - shares**2)
    found = incident_stations(mapping(forward, across), lap("spin"))
    assert found.tolist() == pytest.approx([98.0 + 0.9])


def test_trembling_at_walking_pace_is_no_spin() -> None:
    forward, across = steady()
    forward[50:53] = -0.19
    speeds = np.full(len(forward), 5.0)
    assert incident_stations(mapping(forward, across, speed_mps=speeds), lap("spin")).size == 0
    forward[50] = -0.21
    m = mapping(forward, across, speed_mps=speeds)
    assert incident_stations(m, lap("spin")).tolist() == pytest.approx([98.0 - 0.21])


@pytest.mark.parametrize("flag", ["spin", "stop"])
def test_stood_is_where_the_car_stood(flag: str) -> None:
    forward, across = steady()
    forward[50:90] = 0.0
    m = mapping(forward, across)
    found = incident_stations(m, lap(flag))
    assert found.size > 0
    assert set(found) == {98.0}
    assert incident_stations(m, lap("off_path")).size == 0


def test_stations_are_those_of_one_lap() -> None:
    # The seventh hundredth fix is at 1400 m: 400 m in the second lap.
    m = mapping(*steady(800), aside=slice(700, 701))
    assert incident_stations(m, lap("off_path")).tolist() == [400.0]


def test_only_the_lap_with_the_trouble_is_searched() -> None:
    m = mapping(*steady(800), aside=slice(100, 701, 600))
    both = pd.concat([lap("off_path", end_s=49.95), lap("stop", start_s=50.05)], ignore_index=True)
    assert incident_stations(m, both).tolist() == [200.0]


# Braking for each begins 100 m before its entry; 3 is 150 m before the line.
CORNERS = tuple(
    Corner(k, str(k), "left", entry, entry + 20.0, entry + 40.0, 50.0)
    for k, entry in ((1, 150.0), (2, 450.0), (3, 850.0))
)
SPANS = pd.DataFrame({"corner": [1, 2, 3], "start_m": [50.0, 350.0, 750.0]})


def concerned(*station: float, corners: tuple[Corner, ...] = CORNERS) -> tuple[int, ...]:
    return corners_with_incidents(corners, SPANS, np.array(station), LENGTH_M)


@pytest.mark.parametrize(
    ("station", "expected"),
    [
        # From its own braking to the next one's, and up to 150 m behind its exit.
        (51.0, (1,)), (339.0, (1,)), (349.0, (1,)), (351.0, (2,)), (639.0, (2,)),
        (641.0, (2,)), (749.0, (2,)), (751.0, (3,)), (999.0, (3,)), (0.0, (3,)), (49.0, (3,)),
    ],
)  # fmt: skip
def test_a_spin_belongs_to_the_corner_braked_for_before_it(
    station: float, expected: tuple[int, ...]
) -> None:
    assert concerned(station) == expected


def test_behind_a_corner_it_may_have_begun_in_it_though_the_next_is_braked_for() -> None:
    # Corner 2 ends at 240 m now and is braked for from 180 m; a slide from corner 1 (exit at
    # 190 m) may end up to 340 m.
    near = (CORNERS[0], Corner(2, "2", "left", 200.0, 220.0, 240.0, 50.0), CORNERS[2])
    spans = SPANS.assign(start_m=[50.0, 180.0, 750.0])
    for station, expected in ((185.0, (1, 2)), (335.0, (1, 2)), (345.0, (2,)), (389.0, (2,))):
        found = corners_with_incidents(near, spans, np.array([station]), LENGTH_M)
        assert found == expected, station


def test_a_corner_that_nothing_is_known_of_is_not_named() -> None:
    assert corners_with_incidents(CORNERS, SPANS.iloc[:1], np.array([60.0, 800.0]), LENGTH_M) == (
        1,
    )
    assert concerned() == ()


def test_a_circuit_with_one_corner_is_all_of_it() -> None:
    one = CORNERS[:1]
    for station in (0.0, 49.0, 51.0, 700.0):
        assert corners_with_incidents(one, SPANS, np.array([station]), LENGTH_M) == (1,)

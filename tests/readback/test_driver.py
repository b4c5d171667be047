"""The driver's channels on the page: curves and sentences are the log's and the table's numbers."""

import re
from typing import Any

import numpy as np
import pytest
from page_reading import cards, numbers_block, page_of, section, words
from picture_reading import along_in
from readback_worlds import truth_of
from session_truth import Truth

LOG = "saturday_practice.csv"
BARE = "saturday_qualifying.gpx"
ROLES = {"throttle": "throttle [%]", "brake": "brake [bar]", "steering": "steering [deg]",
         "rpm": "engine speed [1/min]"}  # fmt: skip
STEP_M = 5.0


@pytest.fixture(scope="module")
def page() -> Any:
    return page_of(LOG)


@pytest.fixture(scope="module")
def truth() -> Truth:
    return truth_of(LOG)


def logged(truth: Truth, lap: int, role: str, station_m: np.ndarray) -> np.ndarray:
    """The log's own column at stations of a lap."""
    log, trace = truth.session.log, truth.trace(lap)
    rows = log.channels[["time_s", log.roles[role]]].dropna()
    return np.interp(trace.time_at(station_m), rows["time_s"], rows[log.roles[role]])


@pytest.mark.parametrize("role", ROLES)
def test_curves_of_the_whole_lap(page: Any, truth: Truth, role: str) -> None:
    (picture,) = along_in(section(page, "along"), role)
    curves = picture.curves()
    laps = {"usual": truth.session.typical_lap, "best": truth.best}
    assert [part for part, _ in curves] == list(laps)
    for part, points in curves:
        lap = laps[part]
        assert lap is not None
        station = np.append(STEP_M * np.arange(len(points) - 1), picture.end_m)
        true = logged(truth, lap, role, station)
        # Written to a thousandth of the picture's height.
        assert np.abs(points[:, 1] - true).max() <= 0.0011 * (picture.high - picture.low)
    assert ROLES[role] in words(section(page, "along"))


def test_numbers_for_the_cursor(page: Any, truth: Truth) -> None:
    data = numbers_block(page)
    facts = {one["kind"]: one for one in data["channels"]}
    assert list(facts) == list(ROLES)
    for lap, one in data["laps"].items():
        for role, fact in facts.items():
            assert ROLES[role] == f"{fact['name']} [{fact['unit']}]"
            station = np.append(STEP_M * np.arange(len(one[role]) - 1), data["length"])
            true = logged(truth, int(lap), role, station)
            assert (
                np.abs(np.array(one[role]) / fact["scale"] - true).max() <= 0.5001 / fact["scale"]
            )


def test_sentences_on_coasting(page: Any, truth: Truth) -> None:
    driver = truth.session.driver
    said = 0
    for corner, card in cards(page).items():
        here = driver[driver["corner"] == corner].set_index("lap")
        usual = here.loc[here.index.isin(truth.clean), "coast_s"].median()
        found = re.search(r"coast (\d\.\d+) s .*?, (\d\.\d+) s on the best lap", words(card))
        assert (found is not None) == (usual >= 0.25), corner
        if found is not None:
            said += 1
            assert float(found[1]) == pytest.approx(usual, abs=0.0051)
            assert float(found[2]) == pytest.approx(here.at[truth.best, "coast_s"], abs=0.0051)
    assert said >= 5


def test_a_log_without_channels_says_nothing_of_them() -> None:
    page = page_of(BARE)
    assert numbers_block(page)["channels"] == []
    for role, name in ROLES.items():
        assert along_in(page, role) == []
        assert name not in words(page)
    assert "coast" not in words(section(page, "corners"))

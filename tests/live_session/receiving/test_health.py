from dataclasses import replace

import pytest

from lapwright.live_session.receiving.epochs import Epochs
from lapwright.live_session.receiving.fixes import Fix, InOrder
from lapwright.live_session.receiving.health import Health


@pytest.fixture
def health() -> Health:
    return Health(Epochs(), InOrder())


def state(health: Health, now_s: float, why: str = "") -> tuple[str, str]:
    told = health.tell(now_s, why, "recording to r.nmea")
    assert told is not None
    return told.state, told.why


def come(health: Health, until_s: float, **more: float) -> None:
    """Ten fixes up to a moment, each a tenth of a second after the last, arriving 5 s on."""
    for i in range(10):
        now_s = until_s - 0.9 + i / 10.0
        health.got_bytes(now_s)
        health.got_fix(replace(Fix(now_s - 5.0, 51.0, 2.0), **more), now_s, now_s)


def test_nothing_yet_fixes_and_nothing_any_more(health: Health) -> None:
    assert state(health, 0.0) == ("waiting", "nothing has come yet")
    come(health, 10.0)
    assert state(health, 10.0) == ("fixes", "")
    assert state(health, 17.0) == ("nothing", "nothing has come for 7 s")


def test_it_is_told_when_it_changes_and_each_second(health: Health) -> None:
    come(health, 10.0)
    assert state(health, 10.0)[0] == "fixes"
    assert health.tell(10.5, "", "") is None
    assert state(health, 11.1)[0] == "fixes"
    assert state(health, 11.2, "the port is gone") == ("nothing", "the port is gone")


def test_later_than_before_is_late_whatever_the_clocks_differ_by(health: Health) -> None:
    come(health, 10.0)
    health.got_fix(Fix(5.1, 51.0, 2.0), 12.6, 12.6)
    assert state(health, 12.6) == ("late", "fixes come 2.5 s late")


def test_a_computer_that_is_behind_says_so(health: Health) -> None:
    health.got_bytes(1.0)
    health.got_fix(Fix(0.0, 51.0, 2.0), 1.0, 5.0)
    assert state(health, 5.0) == ("late", "this computer is 4 s behind what has come")


def test_a_receiver_that_is_unsure_is_poor(health: Health) -> None:
    come(health, 10.0, hdop=9.5)
    assert state(health, 10.0)[0] == "poor"
    come(health, 20.0, position_sd_m=12.0)
    assert state(health, 20.0) == ("poor", "the receiver says it is good to 12 m")


def test_sentences_without_a_position(health: Health) -> None:
    health.got_bytes(1.0)
    assert state(health, 1.0) == (
        "no position", "what comes holds no position; is it NMEA 0183 with RMC or GGA?",
    )  # fmt: skip
    health.epochs.without_position = 3
    assert state(health, 2.5) == ("no position", "the receiver has no position")

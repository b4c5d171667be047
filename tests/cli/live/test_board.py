"""No view can show a number that is too old: it is a dash before it leaves the board."""

from dataclasses import replace

import pytest

from lapwright.cli.live.board import Board
from lapwright.live_session.events import LapGoing, LapTimed, Learned, Receiving, SectorTimed
from lapwright.units import Units

NAN = float("nan")
GOING = LapGoing(5, "timed", 100.0, 58.4, 1800.0, 38.0, -0.263, 0.041, 94.55, 0.05, "lap 3, so far")
LAP = LapTimed(3, "timed", (), 94.812, 0.018, (), (), 0.0, 94.0, refined=True, best=True)


@pytest.fixture
def board() -> Board:
    made = Board(Units())
    made.take(Receiving("fixes", "", 0.1, "recording to r.nmea"), 9.9)
    made.take(LAP, 9.9)
    made.take(GOING, 10.0)
    return made


def test_live_numbers(board: Board) -> None:
    shown = board.shown(10.5)
    assert shown.live
    # 38 m/s is 136.8 km/h; digits as the error bar allows.
    assert (shown.state, shown.lap, shown.speed) == ("LIVE", "lap 5", "137 km/h")
    assert (shown.delta, shown.delta_bar) == ("-0.26", "± 0.04")
    assert (shown.predicted, shown.predicted_bar) == ("1:34.55", "± 0.05")
    assert shown.running == "58.4"
    assert shown.best == shown.last == "lap 3  1:34.812 ± 0.018  best"


@pytest.mark.parametrize("state", ["fixes", "poor", "late", "nothing"])
def test_what_is_older_than_two_seconds_is_a_dash_with_its_age(board: Board, state: str) -> None:
    board.take(Receiving(state, "", 7.0, "recording to r.nmea"), 12.5)
    shown = board.shown(17.0)
    assert not shown.live
    assert shown.state == "NO FIXES"
    assert shown.why == "last fix 7 s ago"
    assert {shown.delta, shown.predicted, shown.running, shown.speed} == {"--"}
    assert (shown.delta_bar, shown.predicted_bar) == ("", "")
    # What is over is no live number.
    assert shown.last == "lap 3  1:34.812 ± 0.018  best"


def test_an_out_lap_has_no_delta(board: Board) -> None:
    lost = {"delta_s": NAN, "delta_sd_s": NAN, "predicted_s": NAN, "predicted_sd_s": NAN}
    board.take(replace(GOING, kind="out", since_line_s=NAN, **lost), 11.0)
    shown = board.shown(11.0)
    assert (shown.lap, shown.delta, shown.predicted, shown.running) == ("out lap", "--", "--", "--")


def test_what_is_set_aside_says_why_and_a_new_best_takes_over(board: Board) -> None:
    board.take(replace(LAP, lap=4, flags=("slow", "stop"), best=False), 11.0)
    assert board.shown(11.0).last == "lap 4  1:34.812 ± 0.018  slow, stopped"
    assert board.shown(11.0).best.startswith("lap 3")
    board.take(replace(LAP, lap=5, time_s=93.0), 12.0)
    assert board.shown(12.0).best.startswith("lap 5  1:33.000")
    assert sum("best" in lap for lap in board.shown(12.0).laps) == 1


def test_sectors_are_those_of_the_newest_lap(board: Board) -> None:
    board.take(SectorTimed(4, 1, 24.5, 0.05, 0.0, refined=True), 10.0)
    board.take(SectorTimed(5, 1, 24.41, 0.06, 0.0, refined=False), 10.0)
    board.take(SectorTimed(4, 2, 30.0, 0.06, 0.0, refined=True), 10.0)
    assert board.shown(10.0).sectors == "lap 5: S1 24.41 ± 0.06"


def test_before_anything_and_at_the_end(board: Board) -> None:
    assert Board(Units()).shown(5.0).state == "WAITING"
    board.take(Learned("this session", 0.4, 1.0, 900), 10.0)
    board.take(Receiving("ended", "end of the log", NAN), 10.1)
    shown = board.shown(10.2)
    assert (shown.state, shown.delta) == ("ENDED", "--")


def test_a_session_without_an_end_takes_no_memory(board: Board) -> None:
    for number in range(6, 500):
        board.take(replace(LAP, lap=number, best=False), 11.0)
    assert len(board._laps) == 21
    assert 3 in board._laps

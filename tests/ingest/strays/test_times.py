"""Times far from the rest go out with a finding; what was driven, and when, stays."""

import numpy as np
import pytest

from lapwright.errors import LogError
from lapwright.ingest import Log, read_log
from lapwright.ingest.invariants import MAX_SPAN_S

DAY_S = 86_400.0
START_S = 1_718_454_896.0


@pytest.fixture
def read(tmp_path, make_drive):
    """Give a function that writes a drive at 10 Hz with the given times, and reads it."""

    def reader(time_s: np.ndarray, head: str = "time") -> Log:
        drive = make_drive(count=len(time_s))
        path = tmp_path / "log.csv"
        rows = zip(time_s.tolist(), drive.lat_deg, drive.lon_deg, strict=True)
        lines = [f"{time:.4f},{lat:.7f},{lon:.7f},90" for time, lat, lon in rows]
        path.write_text(f"{head},lat,lon,oil\n" + "\n".join(lines) + "\n")
        return read_log(path)

    return reader


@pytest.fixture
def time_s() -> np.ndarray:
    return START_S + np.arange(300) / 10.0


def far(log: Log, code: str = "far_time") -> tuple[tuple[int, int], ...]:
    return next((note.lines for note in log.findings if note.code == code), ())


@pytest.mark.parametrize("off_s", [DAY_S, -DAY_S, 3600.0, -3600.0, 30 * 365 * DAY_S])
def test_a_stretch_of_another_day_is_left_out(off_s, read, time_s) -> None:
    time_s[100:140] += off_s
    # Lines are lost behind it: else it would be put back, see `test_misdated`.
    time_s[140:] += 5.0
    log = read(time_s)
    # Row 100 stands on line 102, below the header.
    assert far(log) == ((102, 141),)
    assert log.duration_s == pytest.approx(34.9)
    assert len(log.fixes) == len(log.channels) == 260
    assert log.fixes["line"].tolist() == [*range(2, 102), *range(142, 302)]


@pytest.mark.parametrize("part", [slice(0, 15), slice(285, 300)])
@pytest.mark.parametrize("off_s", [3600.0, -3600.0, DAY_S, -DAY_S])
def test_a_handful_at_an_end_is_left_out_as_the_car_drives_on(part, off_s, read, time_s) -> None:
    time_s[part] += off_s
    log = read(time_s)
    assert len(log.fixes) == 285
    assert far(log) == ((part.start + 2, part.stop + 1),)
    note = next(note for note in log.findings if note.code == "far_time")
    assert ("dates in these lines" in note.message) == (abs(off_s) == DAY_S)


@pytest.mark.parametrize("part", [slice(0, 40), slice(150, 300), slice(260, 300)])
@pytest.mark.parametrize("off_s", [900.0, -900.0, 3600.0, -3600.0, 6 * DAY_S, -3 * DAY_S])
def test_a_clock_set_once_while_driving_loses_nothing(part, off_s, read, time_s) -> None:
    time_s[part] += off_s
    log = read(time_s)
    assert len(log.fixes) == 300
    assert far(log) == ()
    assert "gap" in {note.code for note in log.findings}


def test_a_clock_set_by_more_than_any_event_lasts_loses_the_shorter_part(read, time_s) -> None:
    time_s[200:] += 8 * DAY_S
    log = read(time_s)
    assert len(log.fixes) == 200
    assert far(log) == ((202, 301),)


def test_a_few_broken_dates_do_not_make_decades(read, time_s) -> None:
    broken = np.array([17, 80, 81, 240])
    time_s[broken] += np.array([-20, 7, -3, 15]) * 365.25 * DAY_S
    log = read(time_s)
    # Single ones do not fit the lines around; of two side by side that is not so plain.
    assert far(log, "stray_time") == ((19, 19), (242, 242))
    assert far(log) == ((82, 83),)
    note = next(note for note in log.findings if note.code == "far_time")
    assert "up to 7 years after it; left out. Look at the dates" in note.message
    assert log.duration_s == 29.9


def test_a_pause_of_hours_is_a_gap(read, time_s, tmp_path) -> None:
    time_s[150:] += 3 * 3600.0
    read(time_s)
    path = tmp_path / "log.csv"
    head, *lines = path.read_text().splitlines()
    # The car stops for lunch 50 m from where it drives on.
    cells = [line.split(",") for line in lines]
    for cell in cells[150:]:
        cell[1] = f"{float(cell[1]) + 50 / 111_320:.7f}"
    path.write_text("\n".join([head, *(",".join(cell) for cell in cells)]) + "\n")
    log = read_log(path)
    assert len(log.fixes) == 300
    assert far(log) == ()
    assert "gap" in {note.code for note in log.findings}


def test_a_log_longer_than_any_event_is_cut(read, time_s) -> None:
    # 1100 steps of 599 s, each too short for a pause, are 7.6 days.
    log = read(START_S + np.arange(1100) * 599.0)
    assert 6.9 * DAY_S < log.duration_s <= MAX_SPAN_S
    assert far(log)[0][0] == 2


def test_times_that_are_scattered_are_an_error(read, time_s) -> None:
    rng = np.random.default_rng(1)
    with pytest.raises(LogError, match=r"the times of its \d+ fixes are scattered"):
        read(time_s + rng.integers(-9000, 9000, 300) * DAY_S)


def test_a_column_that_goes_up_and_down_is_no_time(read) -> None:
    rng = np.random.default_rng(1)
    with pytest.raises(LogError, match=r"the times go up and down: .*Name the column of the time"):
        read(4000 + 2000 * np.sin(np.arange(300) / 5) + rng.normal(0, 100, 300).round())


def test_a_log_from_the_newest_line_to_the_oldest_is_read(read, time_s) -> None:
    assert len(read(time_s[::-1]).fixes) == 300


def test_times_of_one_instant_are_an_error(read) -> None:
    with pytest.raises(LogError, match="all of its 300 fixes have the same time"):
        read(np.full(300, START_S))


def test_steps_no_receiver_measures_are_an_error(read) -> None:
    # Seconds read as ... whatever it was: 300 fixes in 30 ms.
    with pytest.raises(LogError, match=r"fixes are 0\.0001 s apart, which no receiver measures"):
        read(np.round(np.arange(300) * 1e-4, 4) * 1.0, head="time [s]")


def test_centuries_are_blank(read, time_s) -> None:
    # The year 2223.
    time_s[50] = 8.0e9
    log = read(time_s)
    note = next(note for note in log.findings if note.code == "far_time")
    assert note.message.startswith("dates before 1970 or after 2199; taken as blank")
    assert note.lines == ((52, 52),)
    assert len(log.fixes) == 299

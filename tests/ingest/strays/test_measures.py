"""Measures of no car are blank, and said with their lines."""

import numpy as np
import pytest

from lapwright.ingest import Log, read_log


@pytest.fixture
def read(tmp_path, make_drive):
    drive = make_drive(count=300)

    def reader(name: str, values: dict[int, str], usual: str) -> tuple[Log, dict]:
        path = tmp_path / "log.csv"
        rows = zip(range(300), drive.lat_deg, drive.lon_deg, drive.speed_mps, strict=True)
        lines = [
            f"{k / 10:.1f},{lat:.7f},{lon:.7f},"
            + (values.get(k, f"{speed:.3f}") if name == "speed [m/s]" else values.get(k, usual))
            for k, lat, lon, speed in rows
        ]
        path.write_text(f"time,lat,lon,{name}\n" + "\n".join(lines) + "\n")
        log = read_log(path)
        return log, {note.code: note for note in log.findings}

    return reader


def test_a_speed_of_no_car_is_blank(read) -> None:
    values = {5: "inf", 6: "-3", 7: "1e19", 8: "1e300", 9: "nan", 10: "201", 11: "150"}
    log, found = read("speed [m/s]", values, "")
    blank = np.flatnonzero(log.fixes["speed_mps"].isna())
    assert blank.tolist() == [5, 6, 7, 8, 9, 10]
    # A car at 150 m/s is possible.
    assert log.fixes["speed_mps"][11] == 150.0
    assert found["impossible_speed"].lines == ((8, 9), (12, 12))
    assert "below 0 or above 200 m/s; taken as blank" in found["impossible_speed"].message
    assert found["unreadable_value"].lines == ((7, 7), (10, 10))


@pytest.mark.parametrize(
    ("head", "column", "bad", "good"),
    [
        ("altitude", "height_m", "1e7", "120"),
        ("hdop", "hdop", "-2", "0.9"),
        ("satellites", "satellites", "1e6", "9"),
    ],
)
def test_a_measure_of_no_receiver_is_blank(head, column, bad, good, read) -> None:
    log, found = read(head, {20: bad}, good)
    assert np.flatnonzero(log.fixes[column].isna()).tolist() == [20]
    assert found["impossible_value"].lines == ((22, 22),)


def test_an_infinite_channel_is_blank_there(read) -> None:
    log, found = read("oil", {20: "inf", 21: "1e300"}, "90")
    # A line with nothing else in it is no line of a channel.
    assert set(range(2, 302)) - set(log.channels["line"]) == {22, 23}
    assert found["unreadable_value"].lines == ((22, 23),)


def test_a_course_stays_below_360(read) -> None:
    log, _ = read("course", {20: "-1e-17", 21: "360", 22: "-90"}, "")
    assert log.fixes["course_deg"][20:23].tolist() == [0.0, 0.0, 270.0]

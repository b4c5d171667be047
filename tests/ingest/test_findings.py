"""What is odd in a log: order, repeats, gaps, frozen and wild positions, with line numbers."""

import numpy as np
import pytest

from lapwright.errors import LogError
from lapwright.ingest import read_log


@pytest.fixture
def rows(make_drive, iso):
    """Give 300 rows of cells: time, lat, lon, speed in m/s; the first stands on line 2."""
    drive = make_drive(count=300)
    return [
        [stamp, f"{lat:.7f}", f"{lon:.7f}", f"{speed:.3f}"]
        for stamp, lat, lon, speed in zip(
            iso(drive.time_ns), drive.lat_deg, drive.lon_deg, drive.speed_mps, strict=True
        )
    ]


@pytest.fixture
def read(tmp_path):
    def reader(rows):
        path = tmp_path / "log.csv"
        text = "\n".join(",".join(row) for row in [["time", "lat", "lon", "speed (m/s)"], *rows])
        path.write_text(text + "\n")
        log = read_log(path)
        return log, {note.code: note for note in log.findings}

    return reader


def test_duplicates(rows, read) -> None:
    log, found = read(rows[:50] + [rows[49]] * 2 + rows[50:])
    assert found["duplicate"].lines == ((52, 53),)
    assert found["duplicate"].count == 2
    assert len(log.fixes) == 300


def test_disorder_is_sorted(rows, read) -> None:
    rows[100], rows[101] = rows[101], rows[100]
    log, found = read(rows)
    assert found["disorder"].lines == ((103, 103),)
    assert log.fixes["time_s"].is_monotonic_increasing
    assert log.fixes["line"].iloc[100:102].tolist() == [103, 102]
    assert len(log.fixes) == 300


def test_a_row_that_comes_much_too_late(rows, read) -> None:
    late = rows.pop(20)
    log, found = read([*rows[:250], late, *rows[250:]])
    assert found["disorder"].lines == ((252, 252),)
    assert "several_recordings" not in found
    assert len(log.fixes) == 300


def test_parts_in_wrong_order_are_joined(rows, read) -> None:
    log, found = read(rows[150:] + rows[:150])
    assert len(log.fixes) == 300
    assert found["disorder"].lines == ((152, 301),)


def test_swapped_blocks_are_sorted(rows, read) -> None:
    log, found = read([*rows[:50], *rows[200:220], *rows[70:200], *rows[50:70], *rows[220:]])
    assert "several_recordings" not in found
    assert "disorder" in found
    assert len(log.fixes) == 300


def test_an_hour_off_is_put_back(rows, read) -> None:
    for row in rows[100:160]:
        row[0] = row[0].replace("T12:", "T13:")
    log, found = read(rows)
    assert found["time_put_back"].lines == ((102, 161),)
    assert len(log.fixes) == 300
    assert log.duration_s == pytest.approx(29.9)


def test_a_wrong_digit_makes_no_other_grid(rows, read) -> None:
    """A time equal to the next is not the sign of a log rounded to its own rate."""
    rows[150][0] = rows[151][0]
    log, found = read(rows)
    assert "rounded_time" not in found
    assert found["equal_times"].lines == ((153, 153),)
    assert len(log.fixes) == 299


def test_gaps_and_single_missing_fixes(rows, read) -> None:
    log, found = read(rows[:100] + rows[150:200] + rows[201:])
    # 51 steps of 0.1 s from fix 99 to fix 150; the line after the gap is 102.
    assert found["gap"].lines == ((102, 102),)
    assert "5.1 s" in found["gap"].message
    assert found["missing_fixes"].count == 1
    assert len(log.fixes) == 249


def test_frozen_positions_are_marked_only_while_moving(rows, read) -> None:
    for row in rows[120:140]:
        row[1:3] = rows[119][1:3]
    log, found = read(rows)
    assert found["frozen"].lines == ((122, 141),)
    assert np.flatnonzero(log.fixes["frozen"]).tolist() == list(range(120, 140))


def test_a_parked_car_is_not_frozen(rows, read) -> None:
    parked = [[row[0], *rows[0][1:3], "0.000"] for row in rows[:100]]
    log, found = read(
        [*parked, *([row[0], *old[1:]] for row, old in zip(rows[100:], rows, strict=False))]
    )
    assert not log.fixes["frozen"].any()
    assert "frozen" not in found


def test_spikes_are_reported_and_kept(rows, read) -> None:
    rows[60][1] = f"{float(rows[60][1]) + 0.0005:.7f}"
    log, found = read(rows)
    # 0.0005 degrees are 55 m.
    assert found["position_spike"].lines == ((62, 62),)
    assert len(log.fixes) == 300


def test_impossible_speeds(rows, read) -> None:
    rows[70][3] = "400.0"
    log, found = read(rows)
    assert found["impossible_speed"].lines == ((72, 72),)
    assert np.flatnonzero(log.fixes["speed_mps"].isna()).tolist() == [70]
    for row in rows[200:]:
        row[1] = f"{float(row[1]) + 0.01:.7f}"
    rows[70][3] = "25.0"
    _, found = read(rows)
    assert found["impossible_speed"].lines == ((202, 202),)


def test_zero_and_impossible_positions_are_left_out(rows, read) -> None:
    rows[10][1:3] = ["0", "0"]
    rows[20][1] = "91.5"
    log, found = read(rows)
    assert found["zero_position"].lines == ((12, 12),)
    assert found["position_out_of_range"].lines == ((22, 22),)
    assert len(log.fixes) == 298


def test_longitudes_from_0_to_360_are_wrapped(rows, read) -> None:
    for row in rows:
        row[2] = f"{float(row[2]) + 100:.7f}"
    log, _ = read(rows)
    assert log.fixes["lon_deg"].between(-180, 180, inclusive="left").all()
    assert log.fixes["lon_deg"].iloc[0] == pytest.approx(float(rows[0][2]) - 360, abs=1e-9)


def test_times_that_stand_still_leave_the_first_of_each(rows, read) -> None:
    for k in range(100, 110):
        rows[k][0] = rows[100][0]
    log, found = read(rows)
    assert found["equal_times"].lines == ((103, 111),)
    assert len(log.fixes) == 291


def test_an_old_date_may_be_a_week_rollover(rows, read) -> None:
    # 1024 weeks are 7168 days: 2024-06-15 appears as 2004-10-30.
    for row in rows:
        row[0] = row[0].replace("2024-06-15", "2004-10-30")
    _, found = read(rows)
    assert "2024-06-15" in found["old_date"].message


def test_an_uneven_rate_is_said(rows, read) -> None:
    rng = np.random.default_rng(3)
    kept = [row for row in rows if rng.random() < 0.5]
    _, found = read(kept)
    assert "uneven_rate" in found


def test_time_of_day_over_midnight(tmp_path) -> None:
    path = tmp_path / "log.csv"
    clock = [f"23:59:{59.5 + k / 10:04.1f}" for k in range(5)]
    clock += [f"00:00:{k / 10:04.1f}" for k in range(5)]
    path.write_text(
        "time,lat,lon\n" + "".join(f"{c},51.5,{7 + k * 1e-5:.6f}\n" for k, c in enumerate(clock))
    )
    log = read_log(path)
    assert log.time_scale == "time_of_day"
    assert log.fixes["time_s"].to_numpy() == pytest.approx(np.arange(10) / 10, abs=1e-9)
    assert log.first_fix_s == 86_399.5
    assert {note.code for note in log.findings} >= {"midnight", "no_date"}


@pytest.mark.parametrize(
    ("unit", "factor"), [("m/s", 1.0), ("km/h", 3.6), ("mph", 1 / 0.44704), ("knots", 3600 / 1852)]
)
def test_a_speed_without_unit_is_held_against_the_positions(tmp_path, rows, unit, factor) -> None:
    path = tmp_path / "log.csv"
    for row in rows:
        row[3] = f"{float(row[3]) * factor:.3f}"
    path.write_text("time,lat,lon,speed\n" + "".join(",".join(row) + "\n" for row in rows))
    log = read_log(path)
    assert log.fixes["speed_mps"].mean() == pytest.approx(25.0, abs=0.3)
    (note,) = [note for note in log.findings if note.code == "speed_unit_inferred"]
    assert note.message.endswith(unit)


def test_a_speed_that_contradicts_its_unit(rows, read) -> None:
    for row in rows:
        row[3] = f"{float(row[3]) * 3.6:.3f}"
    log, found = read(rows)
    assert log.fixes["speed_mps"].mean() == pytest.approx(25.0, abs=0.3)
    assert "km/h" in found["speed_unit_contradicted"].message


def test_a_speed_that_fits_nothing_is_kept_as_a_channel(rows, read) -> None:
    for row in rows:
        row[3] = f"{float(row[3]) * 1.6:.3f}"
    log, found = read(rows)
    assert "speed_mps" not in log.fixes
    assert "speed_disagrees" in found
    assert len(log.channels) == 300


def test_a_car_that_stands_says_nothing_about_units(tmp_path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("time,lat,lon,speed\n" + "".join(f"{k},51.5,7.1,0.1\n" for k in range(40)))
    assert "speed_unit_assumed" in {note.code for note in read_log(path).findings}


def test_a_course_in_radians_and_one_that_is_none(make_drive, iso, write_csv, tmp_path) -> None:
    drive = make_drive()
    columns = [
        iso(drive.time_ns),
        *([f"{v:.7f}" for v in c] for c in (drive.lat_deg, drive.lon_deg)),
    ]
    header = ["time", "lat", "lon", "heading"]
    radians = [f"{np.radians(v):.5f}" for v in drive.course_deg]
    log = read_log(write_csv(tmp_path / "a.csv", header, [*columns, radians]))
    assert "course_unit_inferred" in {note.code for note in log.findings}
    # 1e-5 rad are 0.0006 degrees.
    assert log.fixes["course_deg"].to_numpy() == pytest.approx(drive.course_deg, abs=6e-4)
    wrong = [f"{(90 - v) % 360:.2f}" for v in drive.course_deg]
    log = read_log(write_csv(tmp_path / "b.csv", header, [*columns, wrong]))
    assert "course_disagrees" in {note.code for note in log.findings}
    assert "course_deg" not in log.fixes


def test_two_fixes_are_the_least(tmp_path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("time,lat,lon\n0.0,51.5,7.1\n0.1,51.5,7.2\n")
    assert len(read_log(path).fixes) == 2
    path.write_text("time,lat,lon\n0.0,51.5,7.1\n0.0,51.5,7.1\n")
    with pytest.raises(LogError, match="all of its 2 fixes have the same time"):
        read_log(path)


@pytest.mark.parametrize("times", [4, 10])
@pytest.mark.parametrize("speed_mps", [25.0, 2.5])
def test_held_positions_are_fixes_once(make_drive, iso, tmp_path, times, speed_mps) -> None:
    # Noise of half a metre: the step of a slow car is lost in it.
    drive = make_drive(count=300, speed_mps=speed_mps, noise_m=0.5)
    lat, lon = drive.lat_deg.copy(), drive.lon_deg.copy()
    lat[50:60], lon[50:60] = lat[50], lon[50]
    fine_ns = drive.time_ns[0] + np.arange(300 * times) * (100_000_000 // times)
    path = tmp_path / "log.csv"
    rows = zip(iso(fine_ns), np.repeat(lat, times), np.repeat(lon, times), strict=True)
    body = "".join(f"{stamp},{a:.7f},{b:.7f}\n" for stamp, a, b in rows)
    path.write_text("time,lat,lon\n" + body)
    log = read_log(path)
    found = {note.code: note for note in log.findings}
    assert log.rate_hz == pytest.approx(10.0)
    assert log.fixes["line"].tolist() == [2 + times * k for k in range(300)]
    assert found["positions_repeated"].count == 300 * (times - 1)
    assert f"written {times} times" in found["positions_repeated"].message

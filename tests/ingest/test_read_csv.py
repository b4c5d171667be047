"""Delimited text: one test for each way a file can be odd, made from a good one."""

import numpy as np
import pytest

from lapwright.errors import LogError
from lapwright.ingest import read_log


def codes(log) -> dict:
    return {note.code: note for note in log.findings}


@pytest.fixture
def table(make_drive, iso):
    """Give header and columns of a plain file, with two channels."""
    drive = make_drive()
    count = len(drive.time_ns)
    return drive, {
        "time": iso(drive.time_ns),
        "lat": [f"{value:.7f}" for value in drive.lat_deg],
        "lon": [f"{value:.7f}" for value in drive.lon_deg],
        "speed (km/h)": [f"{value * 3.6:.3f}" for value in drive.speed_mps],
        "rpm": [f"{4000 + k}" for k in range(count)],
        "oil temp [°C]": [f"{90 + k / 100:.2f}" for k in range(count)],
    }


@pytest.fixture
def write(tmp_path, write_csv):
    def writer(columns: dict, name: str = "log.csv", **options):
        return write_csv(tmp_path / name, list(columns), list(columns.values()), **options)

    return writer


def edit(path, change) -> None:
    """Change the lines of a file; `change` gets a list and may edit it."""
    lines = path.read_text().split("\n")
    change(lines)
    path.write_text("\n".join(lines))


def test_a_clean_file_has_no_findings(table, write) -> None:
    _drive, columns = table
    log = read_log(write(columns))
    assert log.findings == ()
    assert log.reader == "csv"
    assert log.rate_hz == pytest.approx(10.0)
    assert log.fixes["line"].tolist() == list(range(2, 202))
    assert log.channels["rpm"].tolist() == [4000.0 + k for k in range(200)]
    assert log.channel_units == {"rpm": "1/min", "oil temp [°C]": "°C"}
    assert log.roles == {"rpm": "rpm"}
    assert [column.read_as for column in log.columns] == [
        "time", "latitude", "longitude", "speed", "rpm", "channel",
    ]  # fmt: skip
    assert log.columns[3].unit == "km/h"


def test_a_units_row_is_taken_for_that(table, write) -> None:
    drive, columns = table
    columns = {"speed" if name.startswith("speed") else name: v for name, v in columns.items()}
    path = write(columns)
    edit(path, lambda lines: lines.insert(1, "ISO,deg,deg,km/h,1/min,°C"))
    log = read_log(path)
    assert log.findings == ()
    assert log.fixes["line"].iloc[0] == 3
    assert log.fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=2e-4)


def test_lines_before_the_header(table, write) -> None:
    _, columns = table
    head = "Session,Saturday practice\nDriver,B\nTrack temperature,31.5\n\n"
    log = read_log(write(columns, before=head))
    assert log.fixes["line"].iloc[0] == 6
    assert len(log.fixes) == 200


def test_a_date_above_the_header_is_used_for_a_time_of_day(table, write, iso) -> None:
    drive, columns = table
    columns["time"] = [text[11:] for text in iso(drive.time_ns, zone="")]
    log = read_log(write(columns, before="Recorded: 15.06.2024\n"))
    assert log.start_utc.value == drive.time_ns[0]
    assert "date_from_head" in codes(log)


def test_ragged_lines_are_left_out_and_reported(table, write) -> None:
    _, columns = table
    path = write(columns)

    def change(lines):
        lines[10] = lines[10].rpartition(",")[0]
        lines[20] += ",7"
        lines[30] = "---"
        lines[40] = ""

    edit(path, change)
    log = read_log(path)
    assert codes(log)["ragged_line"].lines == ((11, 11), (21, 21), (31, 31))
    assert len(log.fixes) == 196


def test_a_cut_last_line(table, write) -> None:
    _, columns = table
    path = write(columns)
    path.write_bytes(path.read_bytes()[:-9])
    log = read_log(path)
    assert codes(log)["truncated_end"].lines == ((201, 201),)
    assert len(log.fixes) == 199
    # Cut inside the last number: as many fields as the others, but fewer digits.
    path = write(columns)
    path.write_bytes(path.read_bytes()[:-2])
    log = read_log(path)
    assert codes(log)["truncated_end"].lines == ((201, 201),)
    # Only the line end is missing.
    path = write(columns, last_end=False)
    assert read_log(path).findings == ()
    # A whole number that is shorter than the others is no sign of a cut.
    columns = {**columns, "count": [str(1000 - k * 5) for k in range(200)]}
    path = write(columns, last_end=False)
    assert read_log(path).findings == ()


def test_short_lines_by_habit_are_kept(table, write) -> None:
    drive, columns = table
    path = write(columns)

    def change(lines):
        for k in range(1, 200, 2):
            lines[k] = ",".join(lines[k].split(",")[:4])

    edit(path, change)
    log = read_log(path)
    assert len(log.fixes) == 200
    assert codes(log)["short_line"].count == 100
    assert log.channels["rpm"].notna().sum() == 100
    assert log.fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=2e-4)


def test_an_unclosed_quote_swallows_nothing(table, write) -> None:
    _, columns = table
    path = write(columns, quote=True)

    def change(lines):
        lines[50] = lines[50].replace('"', "", 1)

    edit(path, change)
    log = read_log(path)
    assert len(log.fixes) >= 199


def test_a_quoted_field_may_hold_delimiters_and_line_breaks(table, write) -> None:
    # RFC 4180, section 2, rules 6 and 7.
    drive, columns = table
    notes = ["fine"] * 200
    notes[7], notes[9] = 'rain, "heavy"', "two\nlines"
    path = write({**columns, "note": notes}, quote=True)
    text = path.read_text().replace('"rain, "heavy""', '"rain, ""heavy"""')
    path.write_text(text)
    log = read_log(path)
    assert len(log.fixes) == 200
    assert log.fixes["line"].tolist() == [*range(2, 12), *range(13, 203)]
    assert log.channels["note"].iloc[0] == "fine"
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=1e-12)


def test_words_among_numbers_are_blank_and_reported(table, write) -> None:
    _, columns = table
    columns["rpm"][5] = "n/a?"
    columns["lat"][8] = "error"
    log = read_log(write(columns))
    lines = [note.lines for note in log.findings if note.code == "unreadable_value"]
    assert sorted(lines) == [((7, 7),), ((10, 10),)]
    assert codes(log)["no_position"].lines == ((10, 10),)
    assert len(log.fixes) == 199
    assert np.isnan(log.channels["rpm"].iloc[5])


def test_a_header_in_the_body_is_one_finding(table, write) -> None:
    _, columns = table
    columns["rpm"][5] = "n/a?"
    path = write(columns)
    edit(path, lambda lines: lines.insert(50, lines[0]))
    log = read_log(path)
    notes = [(note.lines, note.count) for note in log.findings]
    assert sorted(notes) == [(((7, 7),), 1), (((51, 51),), 1)]
    assert len(log.fixes) == 200


def test_channels_at_another_rate_keep_their_own_lines(table, write) -> None:
    _drive, columns = table
    for name in ("lat", "lon", "speed (km/h)"):
        columns[name] = [text if k % 5 == 0 else "" for k, text in enumerate(columns[name])]
    log = read_log(write(columns))
    assert len(log.fixes) == 40
    assert log.rate_hz == pytest.approx(2.0)
    assert "mixed_rates" in codes(log)
    assert len(log.channels) == 200
    assert log.channels["time_s"].to_numpy() == pytest.approx(np.arange(200) / 10, abs=1e-9)


def test_positions_held_until_the_next_are_one_fix(table, write) -> None:
    _drive, columns = table
    for name in ("lat", "lon", "speed (km/h)"):
        columns[name] = [columns[name][k - k % 5] for k in range(200)]
    log = read_log(write(columns))
    assert len(log.fixes) == 40
    assert "positions_repeated" in codes(log)
    assert len(log.channels) == 200


def test_zero_bytes_of_a_logger_without_power(table, write) -> None:
    _, columns = table
    path = write(columns)
    path.write_bytes(path.read_bytes() + bytes(4096))
    log = read_log(path)
    assert len(log.fixes) == 200
    assert "zero_bytes" in codes(log)


def test_old_line_ends(table, write) -> None:
    _, columns = table
    log = read_log(write(columns, end="\r"))
    assert len(log.fixes) == 200
    assert log.fixes["line"].iloc[-1] == 201


def test_trailing_delimiter_on_every_line(table, write) -> None:
    drive, columns = table
    path = write(columns)
    edit(path, lambda lines: lines.__setitem__(slice(1, -1), [x + "," for x in lines[1:-1]]))
    log = read_log(path)
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=1e-12)
    assert log.findings == ()


def test_a_header_that_comes_again_is_left_out(table, write) -> None:
    _, columns = table
    path = write(columns)
    edit(path, lambda lines: lines.insert(100, lines[0]))
    log = read_log(path)
    assert len(log.fixes) == 200
    assert any(note.lines == ((101, 101),) for note in log.findings)


def test_a_header_behind_a_hash(table, write) -> None:
    _, columns = table
    columns = {("# " + name if name == "time" else name): v for name, v in columns.items()}
    assert len(read_log(write(columns)).fixes) == 200


def test_rows_the_receiver_calls_invalid(table, write) -> None:
    _, columns = table
    fix = ["3D"] * 200
    fix[:10] = ["none"] * 10
    log = read_log(write({**columns, "fix": fix}))
    assert len(log.fixes) == 190
    assert codes(log)["no_fix"].lines == ((2, 11),)


def test_accuracy_columns_and_hdop_is_none(table, write) -> None:
    _, columns = table
    log = read_log(write({**columns, "hdop": ["0.9"] * 200}))
    assert "position_sd_m" not in log.fixes
    accuracy = {
        "horizontal accuracy [mm]": ["1000"] * 200,
        "speed accuracy (m/s)": ["0.2"] * 200,
    }
    log = read_log(write({**columns, **accuracy}))
    # A horizontal accuracy counts both axes: 1 m is 0.7071 m on each.
    assert log.fixes["position_sd_m"].iloc[0] == pytest.approx(0.70710678, abs=1e-8)
    assert log.fixes["speed_sd_mps"].iloc[0] == 0.2
    log = read_log(write({**columns, "sd_north_m": ["0.6"] * 200, "sd_east_m": ["0.8"] * 200}))
    assert log.fixes["position_sd_m"].iloc[0] == pytest.approx(0.70710678, abs=1e-8)


def test_several_tracks_in_one_file_are_not_joined_in_silence(table, write) -> None:
    _, columns = table
    again = {name: values + values[:80] for name, values in columns.items()}
    again["lat"] = columns["lat"] + [f"{float(v) + 0.1:.7f}" for v in columns["lat"][:80]]
    log = read_log(write(again))
    assert len(log.fixes) == 200
    assert codes(log)["several_recordings"].lines == ((202, 281),)


def test_x_and_y_as_longitude_and_latitude(table, write) -> None:
    drive, columns = table
    renamed = {"t": columns["time"], "Y": columns["lat"], "X": columns["lon"]}
    log = read_log(write(renamed, delimiter=";"))
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=1e-12)
    assert "position_columns_assumed" in codes(log)


def test_metres_called_x_and_y_are_channels(table, write) -> None:
    _, columns = table
    log = read_log(write({**columns, "x_m": ["1.5"] * 200, "y_m": ["2.5"] * 200}))
    assert log.channels["x_m"].iloc[0] == 1.5


@pytest.mark.parametrize(
    ("header", "first", "scale", "code"),
    [
        ("local time", "2024-06-15 12:34:56.0", "local", "time_zone_assumed"),
        ("time", "2024-06-15 12:34:56.0", "utc", "time_zone_assumed"),
        ("utc time", "2024-06-15 12:34:56.0", "utc", None),
        ("gps time", "2024-06-15 12:34:56.0", "gps", "time_scale_assumed"),
    ],
)
def test_what_the_time_column_is_called(tmp_path, header, first, scale, code) -> None:
    rows = [f"2024-06-15 12:34:{56 + k / 10:04.1f},51.5,{7 + k * 1e-5:.6f}" for k in range(30)]
    path = tmp_path / "log.csv"
    path.write_text(f"{header},lat,lon\n" + "\n".join(rows) + "\n")
    log = read_log(path)
    assert log.time_scale == scale
    # GPS runs 18 s ahead of UTC since 2017-01-01 (IERS Bulletin C 52).
    want = "2024-06-15 12:34:38+00:00" if scale == "gps" else "2024-06-15 12:34:56+00:00"
    assert str(log.start_utc) == want
    assert first.startswith("2024")
    assumed = {note.code for note in log.findings} & {"time_zone_assumed", "time_scale_assumed"}
    assert assumed == ({code} if code else set())


def test_an_offset_in_a_column_of_its_own(table, write, iso) -> None:
    drive, columns = table
    local = iso(drive.time_ns + 7200 * 10**9, zone="", between=" ")
    for text in ("+02:00", "2", "UTC+2", "+0200"):
        log = read_log(write({**columns, "time": local, "UTC offset": [text] * 200}))
        assert log.start_utc.value == drive.time_ns[0]
        assert log.time_scale == "local"


def test_milliseconds_without_a_unit(table, write) -> None:
    _drive, columns = table
    columns["time"] = [str(40_000 + 100 * k) for k in range(200)]
    log = read_log(write(columns))
    assert log.rate_hz == pytest.approx(10.0)
    assert log.first_fix_s == 40.0
    assert "time_unit_inferred" in codes(log)


def test_a_clock_as_one_number(table, write) -> None:
    _drive, columns = table
    columns["time"] = [
        f"{95950 + k / 10 if k < 100 else 100000 + (k - 100) / 10:08.1f}" for k in range(200)
    ]
    log = read_log(write({**columns, "date": ["150624"] * 200}))
    assert str(log.start_utc) == "2024-06-15 09:59:50+00:00"
    assert log.fixes["time_s"].to_numpy() == pytest.approx(np.arange(200) / 10, abs=1e-9)


def test_time_of_week_alone_has_no_date(table, write) -> None:
    _drive, columns = table
    columns = {"time of week [ms]" if k == "time" else k: v for k, v in columns.items()}
    columns["time of week [ms]"] = [str(80_118_000 + 100 * k) for k in range(200)]
    log = read_log(write(columns))
    assert log.start_utc is None
    assert log.first_fix_s == 80_118.0
    assert "no_date" in codes(log)


def test_a_coarse_clock_beside_a_fine_one(table, write, iso) -> None:
    drive, columns = table
    seconds = iso(drive.time_ns, digits=0)
    fine = [f"{k / 10:.2f}" for k in range(200)]
    fine[33] = "3.33"
    log = read_log(write({**columns, "time": seconds, "elapsed (s)": fine}))
    assert "finer_time" in codes(log)
    assert log.fixes["time_s"].iloc[33] == pytest.approx(3.33, abs=1e-9)
    assert abs(log.start_utc.value - drive.time_ns[0]) < 1e8


def test_a_leap_second_lasts_a_second(tmp_path) -> None:
    # 2016-12-31T23:59:60Z: IERS Bulletin C 52.
    stamps = [f"2016-12-31T23:59:{58 + k / 2:04.1f}Z" for k in range(6)]
    stamps += [f"2017-01-01T00:00:{k / 2:04.1f}Z" for k in range(4)]
    rows = [f"{stamp},51.5,{7 + k * 1e-5:.6f}" for k, stamp in enumerate(stamps)]
    path = tmp_path / "log.csv"
    path.write_text("time,lat,lon\n" + "\n".join(rows) + "\n")
    assert read_log(path).fixes["time_s"].tolist() == [k / 2 for k in range(10)]


def test_two_columns_of_one_meaning(table, write) -> None:
    _, columns = table
    log = read_log(write({**columns, "GPS speed (km/h)": ["1.0"] * 200}))
    assert "column_twice" in codes(log)
    assert log.channels["GPS speed (km/h)"].iloc[0] == 1.0


def test_wheel_speed_is_not_the_speed_of_the_car(table, write) -> None:
    _, columns = table
    renamed = {("wheel speed FL (km/h)" if "speed" in k else k): v for k, v in columns.items()}
    log = read_log(write(renamed))
    assert "speed_mps" not in log.fixes
    assert "wheel speed FL (km/h)" in log.channels


def test_an_unreadable_time_names_the_column(tmp_path) -> None:
    path = tmp_path / "log.csv"
    rows = "".join(f"lap {k},51.5,{7 + k * 1e-5:.6f}\n" for k in range(30))
    path.write_text("time,lat,lon\n" + rows)
    with pytest.raises(LogError, match=r'"time" holds no time'):
        read_log(path)


def test_a_date_that_stays_that_of_the_start(table, write, iso, make_drive) -> None:
    _, columns = table
    drive = make_drive(start="2024-12-31T23:59:50")
    columns["time"] = [text[11:] for text in iso(drive.time_ns, zone="")]
    log = read_log(write({**columns, "date": ["31.12.2024"] * 200}))
    assert log.start_utc.value == drive.time_ns[0]
    assert log.fixes["time_s"].to_numpy() == pytest.approx(np.arange(200) / 10, abs=1e-9)


def test_a_date_beside_a_running_time_gives_no_time_of_day(table, write) -> None:
    _, columns = table
    columns["time"] = [f"{k / 10:.1f}" for k in range(200)]
    log = read_log(write({**columns, "date": ["2024-06-15"] * 200}))
    assert log.start_utc is None
    assert log.time_scale == "relative"


def test_a_full_stamp_called_date_beside_a_running_time(table, write, iso) -> None:
    drive, columns = table
    stamps = columns.pop("time")
    log = read_log(
        write({"elapsed": [f"{k / 10:.1f}" for k in range(200)], "Date": stamps, **columns})
    )
    assert log.start_utc.value == drive.time_ns[0]


def test_a_column_that_tells_tracks_apart(table, write, iso) -> None:
    # Short offsets and two tracks, one after the other, as an open data set has them.
    drive, columns = table
    later = drive.time_ns + np.where(np.arange(200) >= 120, 3600, 0) * 10**9
    columns["time"] = iso(later, zone="+00", between=" ", digits=3)
    log = read_log(write({**columns, "trajectory_id": ["1"] * 120 + ["2"] * 80}))
    assert len(log.fixes) == 200
    assert log.start_utc.value == drive.time_ns[0]
    assert codes(log)["several_tracks"].lines == ((122, 122),)
    assert codes(log)["gap"].lines == ((122, 122),)


@pytest.mark.parametrize(
    "before",
    [
        "Logger,Mine,,,,\nLog date,07/02/2026,,,,\nSample rate,25,,,,\n,,,,,\n",
        "Car,7,,,,\n",
        '"Driver","B","","","",""\n"Sample rate","25","","","",""\n',
        "Start,10:00,End,11:00,,\nRate,25,Laps,12,,\n",
    ],
)
@pytest.mark.parametrize("units", ["", "s,deg,deg,km/h,1/min,°C\n"])
def test_lines_above_the_header_that_a_spreadsheet_filled_up(table, write, before, units) -> None:
    drive, columns = table
    path = write(columns, before=before)
    if units:
        edit(path, lambda lines: lines.insert(before.count("\n") + 1, units.strip()))
    log = read_log(path)
    assert log.fixes["line"].iloc[0] == before.count("\n") + (3 if units else 2)
    assert log.fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=2e-4)
    assert len(log.fixes) == 200


def test_a_narrow_table_below_a_filled_up_line(table, write) -> None:
    _, columns = table
    four = dict(list(columns.items())[:4])
    log = read_log(write(four, before="Car,7,,\n"))
    assert log.fixes["line"].iloc[0] == 3
    assert len(log.fixes) == 200


def test_a_hemisphere_in_a_column_without_a_name(table, write_csv, tmp_path) -> None:
    drive, columns = table
    count = len(drive.time_ns)
    header = ["Time", "Latitude", "", "Longitude", "", "Speed"]
    south = [text.lstrip("-") for text in columns["lat"]]
    cells = [columns["time"], south, ["S"] * count, columns["lon"], ["E"] * count]
    path = write_csv(tmp_path / "log.csv", header, [*cells, columns["speed (km/h)"]])
    log = read_log(path)
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=1e-9)
    assert log.fixes["lon_deg"].to_numpy() == pytest.approx(drive.lon_deg, abs=1e-9)
    assert [column.read_as for column in log.columns][2:5:2] == ["lat_hemisphere", "lon_hemisphere"]


@pytest.mark.parametrize("digits", [6, 7])
@pytest.mark.parametrize("name", ["speed (km/h)", "speed"])
def test_whole_positions_are_held_against_the_speed(table, write, digits, name) -> None:
    drive, columns = table
    columns = {name if old.startswith("speed") else old: v for old, v in columns.items()}
    columns["lat"] = [f"{value * 10**digits:.0f}" for value in drive.lat_deg]
    columns["lon"] = [f"{value * 10**digits:.0f}" for value in drive.lon_deg]
    log = read_log(write(columns))
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=1e-6)
    assert f"1e-{digits} degrees" in codes(log)["position_unit_inferred"].message
    assert log.fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=2e-4)


def test_whole_positions_that_both_readings_put_on_the_globe(
    make_drive, iso, write_csv, tmp_path
) -> None:
    drive = make_drive(lat0_deg=5.1, lon0_deg=7.2)
    header = ["time", "lat", "lon", "speed (m/s)"]
    place = [[f"{v * 1e7:.0f}" for v in values] for values in (drive.lat_deg, drive.lon_deg)]
    speed = [f"{value:.3f}" for value in drive.speed_mps]
    log = read_log(write_csv(tmp_path / "log.csv", header, [iso(drive.time_ns), *place, speed]))
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=1e-9)
    assert "1e-7 degrees" in codes(log)["position_unit_inferred"].message


UNITS = {"time": "s", "lat": "deg", "lon": "deg", "speed": "km/h", "rpm": "1/min", "oil": "°C"}


def with_units(columns: dict, **more: str) -> dict:
    """The same with the units in a row of their own."""
    units = {**UNITS, **more}
    bare = {name.split(" ")[0]: values for name, values in columns.items()}
    return {name: [units[name], *values] for name, values in bare.items()}


@pytest.mark.parametrize(
    ("word", "value", "unit"),
    [("tid", "7", "-"), ("fart", "1", "-"), ("langd", "3200", "m"), ("sirka", "12", "m")],
)
def test_a_row_of_units_makes_no_word_surer(table, write, word, value, unit) -> None:
    drive, columns = table
    extra = {word: [value] * len(drive.time_ns)}
    log = read_log(write(with_units({**extra, **columns}, **{word: unit})))
    fixes = log.fixes
    assert fixes["time_s"].iloc[-1] == pytest.approx((drive.time_ns[-1] - drive.time_ns[0]) / 1e9)
    assert fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=1e-6)
    assert fixes["lon_deg"].to_numpy() == pytest.approx(drive.lon_deg, abs=1e-6)
    assert fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=1e-3)


@pytest.mark.parametrize("name", ["Délka [m]", "Šířka [m]", "Längd (m)"])
def test_a_length_is_no_longitude(table, write, name) -> None:
    drive, columns = table
    log = read_log(write({name: ["3.2"] * len(drive.time_ns), **columns}))
    assert log.fixes["lon_deg"].to_numpy() == pytest.approx(drive.lon_deg, abs=1e-6)
    assert "column_twice" not in codes(log)


@pytest.mark.parametrize("word", ["tid", "cas", "saat"])
@pytest.mark.parametrize("values", ["constant", "counting"])
def test_an_abbreviation_is_not_taken_for_the_time_beside_one(table, write, word, values) -> None:
    # "Time" in one language, a track's number in another.
    drive, columns = table
    count = len(drive.time_ns)
    extra = ["7"] * count if values == "constant" else [str(k) for k in range(count)]
    log = read_log(write({word: extra, **columns}))
    assert len(log.fixes) == count
    assert log.fixes["time_s"].to_numpy() == pytest.approx(
        (drive.time_ns - drive.time_ns[0]) / 1e9, abs=1e-7
    )


def test_an_abbreviation_gives_way_to_a_plain_word(table, write) -> None:
    drive, columns = table
    log = read_log(write({"fart": ["1"] * len(drive.time_ns), **columns}))
    assert log.fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=1e-3)
    assert '"fart"' in codes(log)["column_twice"].message


def test_a_time_that_stands_still_is_none(table, write) -> None:
    drive, columns = table
    del columns["time"]
    with pytest.raises(LogError, match="time"):
        read_log(write({"tid": ["7"] * len(drive.time_ns), **columns}))
    seconds = [f"{(t - drive.time_ns[0]) / 1e9:.3f}" for t in drive.time_ns]
    assert len(read_log(write({"tid": seconds, **columns}, name="b.csv")).fixes) == len(seconds)


def test_a_week_second_stands_against_an_abbreviation(table, write) -> None:
    drive, columns = table
    count = len(drive.time_ns)
    del columns["time"]
    tow = [f"{100 + 100 * k}" for k in range(count)]
    log = read_log(
        write({"tid": [str(k) for k in range(count)], "time of week [ms]": tow, **columns})
    )
    assert log.fixes["time_s"].iloc[-1] == pytest.approx(0.1 * (count - 1), abs=1e-6)


@pytest.mark.parametrize("encoding", ["cp1250", "iso8859_2"])
def test_code_pages_of_central_europe(table, write, encoding) -> None:
    drive, columns = table
    named = dict(zip(["Čas", "Zeměpisná šířka", "Zeměpisná délka", "Rychlost (km/h)"],
                     list(columns.values())[:4], strict=True))  # fmt: skip
    log = read_log(write(named, encoding=encoding))
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=1e-6)
    assert log.fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=1e-3)

"""Column maps: what they allow, and the errors that help to write one."""

import re
from pathlib import Path

import pytest

from lapwright.errors import LogError, NotesError
from lapwright.ingest import read_log
from lapwright.ingest.column_map import read_column_map


@pytest.fixture
def odd(tmp_path):
    """Give a file whose headers say nothing."""
    path = tmp_path / "odd.csv"
    # A ten-thousandth of a degree in 0.1 s: 111.2 m/s or 248.7 mph.
    rows = "".join(f"{k * 100};{51.5 + k * 1e-4:.6f};7.1;248.7;{k}\n" for k in range(50))
    path.write_text("a;b;c;d;e\n" + rows)
    return path


@pytest.fixture
def write(tmp_path):
    def writer(text: str):
        path = tmp_path / "columns.toml"
        path.write_text(text)
        return path

    return writer


def test_names_units_numbers_and_channels(odd, write) -> None:
    columns = write(
        '[columns]\ntime = { column = "a", unit = "ms" }\nlatitude = "b"\nlongitude = 3\n'
        'speed = { column = "d", unit = "mph" }\n[channels]\n'
        'boost = { column = "e", unit = "bar" }\n'
    )
    log = read_log(odd, columns)
    # A mile an hour is 0.44704 m/s (NIST SP 811).
    assert log.fixes["speed_mps"].iloc[0] == pytest.approx(248.7 * 0.44704)
    assert log.findings[-1].code == "no_date"
    assert log.rate_hz == pytest.approx(10.0)
    assert log.channels["boost"].tolist() == list(range(50))
    assert log.channel_units["boost"] == "bar"


def test_the_line_of_the_error_message_works_when_filled_in(odd, write) -> None:
    with pytest.raises(LogError) as caught:
        read_log(odd)
    line = caught.value.hint.split("with the line ")[1].split(", put the right")[0]
    line = line.replace('time = "?"', 'time = "a"').replace('latitude = "?"', 'latitude = "b"')
    line = line.replace('longitude = "?"', 'longitude = "c"').replace(', speed = "?"', "")
    assert len(read_log(odd, write(line)).fixes) == 50


def test_a_file_without_header(tmp_path, write) -> None:
    path = tmp_path / "bare.txt"
    path.write_text("".join(f"{k / 10}|{51.5 + k * 1e-4:.6f}|7.1\n" for k in range(50)))
    columns = write("[file]\nheader = false\n[columns]\ntime = 1\nlatitude = 2\nlongitude = 3\n")
    log = read_log(path, columns)
    assert len(log.fixes) == 50
    assert log.fixes["line"].iloc[0] == 1


def test_date_offset_and_scale(tmp_path, write) -> None:
    path = tmp_path / "log.csv"
    rows = "".join(f"12:00:{k / 10:04.1f},51.5,{7 + k * 1e-5:.6f}\n" for k in range(50))
    path.write_text("time,lat,lon\n" + rows)
    log = read_log(path, write('[file]\ndate = "2024-06-15"\nutc_offset = "+02:00"\n'))
    assert str(log.start_utc) == "2024-06-15 10:00:00+00:00"
    assert log.time_scale == "local"
    log = read_log(path, write('[file]\ndate = "2024-06-15"\ntime_scale = "gps"\n'))
    # GPS runs 18 s ahead of UTC since 2017-01-01 (IERS Bulletin C 52).
    assert str(log.start_utc) == "2024-06-15 11:59:42+00:00"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[columns\n", "no TOML"),
        ("[colums]\ntime = 1\n", "'colums'"),
        ("[columns]\ntyme = 1\n", "'tyme'"),
        ("[columns]\ntime = true\n", "names no column"),
        ("[columns]\ntime = 0\n", "counted from 1"),
        ("[columns]\ntime = {column = 1, unit = 3}\n", "unit"),
        ("columns = 3\n", "no table"),
        ('[file]\ndelimiter = ";;"\n', "delimiter"),
        ('[file]\ndecimal = "x"\n', "decimal"),
        ('[file]\ntime_scale = "tai"\n', "time_scale"),
        ("[file]\nheader = 1\n", "wrong kind"),
        ("[file]\nheadder = true\n", "headder"),
        ('[file]\ndate = "yesterday"\n', "date"),
    ],
)
def test_a_map_that_cannot_be_used(write, text: str, words: str) -> None:
    with pytest.raises(NotesError, match=words) as caught:
        read_column_map(write(text))
    assert "\n" not in str(caught.value)
    assert caught.value.hint


def test_a_missing_map(tmp_path) -> None:
    with pytest.raises(NotesError, match="cannot be read"):
        read_column_map(tmp_path / "none.toml")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[columns]\ntime = "zz"\nlatitude = "b"\nlongitude = "c"\n', '\'zz\'.*reads: "a", "b"'),
        ("[columns]\ntime = 9\nlatitude = 2\nlongitude = 3\n", "column 9"),
    ],
)
def test_a_map_that_does_not_fit_the_file(odd, write, text: str, words: str) -> None:
    with pytest.raises(LogError, match=words):
        read_log(odd, write(text))


def test_the_maps_of_the_page_are_read_as_it_says(tmp_path, write) -> None:
    page = (Path(__file__).parents[2] / "docs" / "how-to-columns.md").read_text(encoding="utf-8")
    header = re.findall(r"`(\S+(?:,\S+){5,})`", page)[0].split(",")
    text = next(
        block for block in re.findall(r"```toml\n(.*?)```", page, re.DOTALL) if "tk" in block
    )
    # 1e-7 degrees of latitude are 11.12 mm (an arc minute is 1853 m): 90 in 0.1 s are 10.01 m/s.
    rows = [f"{100 * k},3,{515000000 + 90 * k},71000000,10010,150,0,900" for k in range(60)]
    path = tmp_path / "code.csv"
    path.write_text("\n".join([",".join(header), *rows, ""]))
    fixes = read_log(path, columns=write(text)).fixes
    assert fixes["time_s"].iloc[-1] == pytest.approx(5.9)
    assert fixes["lat_deg"].iloc[10] == pytest.approx(51.50009, abs=1e-9)
    assert fixes["speed_mps"].iloc[0] == pytest.approx(10.01)
    assert fixes["course_deg"].iloc[0] == 0.0
    assert fixes["speed_sd_mps"].iloc[0] == pytest.approx(0.15)
    # Both axes together in the file, one axis in the log: 0.9 m / sqrt 2.
    assert fixes["position_sd_m"].iloc[0] == pytest.approx(0.636396, abs=1e-6)

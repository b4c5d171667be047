"""NMEA 0183: published sentences, checksums, damage, dates over midnight."""

import csv
from pathlib import Path

import numpy as np
import pytest

from lapwright.errors import LogError
from lapwright.ingest import read_log
from lapwright.ingest.nmea.sentences import find_sentences

FIGURES = Path(__file__).parents[1] / "figures"
KINDS = ("RMC", "GGA", "GNS", "VTG", "GST", "ZDA")


def published() -> list[dict[str, str]]:
    lines = (FIGURES / "nmea_samples.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.fixture
def write(tmp_path):
    def writer(lines: list[str], end: str = "\r\n", name: str = "log.nmea") -> Path:
        path = tmp_path / name
        path.write_bytes(end.join([*lines, ""]).encode("latin-1"))
        return path

    return writer


def dm(value: float, digits: int) -> str:
    size = abs(value)
    return f"{int(size):0{digits}d}{(size - int(size)) * 60:010.7f}"


def lines_of(drive, sentence, talker: str = "GN", date: bool = True) -> list[str]:
    """RMC, GGA and GST for every fix of a drive."""
    out = []
    stamps = np.datetime_as_string(drive.time_ns.astype("datetime64[ns]"), unit="ms")
    for k, stamp in enumerate(stamps):
        clock = stamp[11:].replace(":", "")[:9]
        day = stamp[8:10] + stamp[5:7] + stamp[2:4] if date else ""
        lat, lon = drive.lat_deg[k], drive.lon_deg[k]
        place = f"{dm(lat, 2)},{'NS'[int(lat < 0)]},{dm(lon, 3)},{'EW'[int(lon < 0)]}"
        knots = drive.speed_mps[k] * 3600 / 1852
        out += [
            sentence(
                f"{talker}RMC,{clock},A,{place},{knots:.4f},{drive.course_deg[k]:.2f},{day},,,A"
            ),
            sentence(f"{talker}GGA,{clock},{place},1,12,0.91,120.5,M,45.0,M,,"),
            sentence(f"{talker}GST,{clock},1.2,0.9,0.8,40.0,0.6,0.8,1.5"),
        ]
    return out


@pytest.mark.parametrize("row", published(), ids=lambda row: row["sentence"][1:16])
def test_published_checksums(row: dict[str, str]) -> None:
    # 18 good sentences and 4 whose printed checksum does not fit (column status).
    text = row["sentence"].encode()
    kind = row["sentence"][3:6]
    notes = []
    found = find_sentences(text + b"\r\n", (*KINDS, kind) if kind in KINDS else KINDS, notes)
    damaged = "corrupt_line" in {note.code for note in notes}
    assert damaged == (row["status"] == "mismatch")
    assert (kind in found) == (row["status"] == "ok" and kind in KINDS)


def test_values_of_published_sentences() -> None:
    # 4807.038,N = 48.1173; 01131.000,E = 11.516667 (widely published sample).
    data = b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n"
    gga = find_sentences(data, KINDS, [])["GGA"]
    lat, lon = gga.position()
    assert lat[0] == pytest.approx(48.1173, abs=5e-10)
    assert lon[0] == pytest.approx(11.516666667, abs=5e-10)
    assert gga.number("satellites")[0] == 8
    # -19.484083333, 24.1751 (test suite of a general NMEA library).
    data = b"$GPGGA,184353.07,1929.045,S,02410.506,E,1,04,2.6,100.00,M,-33.9,M,,0000*6D\n"
    lat, lon = find_sentences(data, KINDS, [])["GGA"].position()
    assert lat[0] == pytest.approx(-19.484083333, abs=5e-10)
    assert lon[0] == pytest.approx(24.1751, abs=5e-10)


def test_speed_date_and_time_of_a_published_sentence(write, sentence) -> None:
    # 1994-03-23T12:35:19Z, 22.4 kn = 11.523556 m/s, course 84.4 (widely published sample).
    first = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A"
    second = sentence("GPRMC,123520,A,4807.039,N,01131.009,E,022.4,084.4,230394,003.1,W")
    log = read_log(write([first, second]))
    assert str(log.start_utc) == "1994-03-23 12:35:19+00:00"
    assert log.fixes["speed_mps"].tolist() == pytest.approx([11.523556] * 2, abs=5e-7)
    assert log.fixes["course_deg"].tolist() == [84.4, 84.4]


@pytest.mark.parametrize("talker", ["GP", "GN", "GL", "GA", "BD"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_a_drive_comes_back(make_drive, sentence, write, talker, end) -> None:
    drive = make_drive(lat0_deg=51.4, lon0_deg=-179.9999)
    log = read_log(write(lines_of(drive, sentence, talker), end))
    assert log.reader == "nmea"
    assert log.start_utc.value == drive.time_ns[0]
    assert log.fixes["time_s"].to_numpy() == pytest.approx(np.arange(200) / 10, abs=1e-9)
    assert log.fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=2e-9)
    assert log.fixes["lon_deg"].to_numpy() == pytest.approx(drive.lon_deg, abs=2e-9)
    assert log.fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=1e-4)
    assert log.fixes["line"].tolist() == list(range(1, 601, 3))
    # GST: sd of latitude 0.6 m and longitude 0.8 m, root of the mean square 0.7071 m.
    assert log.fixes["position_sd_m"].iloc[0] == pytest.approx(0.70710678, abs=1e-8)
    assert log.fixes["hdop"].iloc[0] == 0.91
    assert log.findings == ()


def test_damage_is_found_and_reported_with_its_line(make_drive, sentence, write) -> None:
    lines = lines_of(make_drive(), sentence)
    lines[30] = lines[30].replace("A", "Q", 1)
    lines[60] = lines[60][:20]
    lines[90] = "\x07garbage"
    lines[120] = "half a line of text" + lines[120]
    # Two commas more leave the exclusive-or as it was.
    lines[150] = lines[150].replace(",A*", ",A,,,,*")
    log = read_log(write(lines))
    codes = {note.code: note for note in log.findings}
    assert codes["corrupt_line"].lines == ((31, 31), (61, 61))
    assert codes["foreign_line"].lines == ((91, 91),)
    assert codes["ragged_line"].lines == ((151, 151),)
    assert len(log.fixes) == 200


def test_a_cut_last_line(make_drive, sentence, write, tmp_path) -> None:
    lines = lines_of(make_drive(), sentence)
    path = tmp_path / "cut.nmea"
    path.write_text("\r\n".join(lines)[:-12], newline="")
    (note,) = [n for n in read_log(path).findings if n.code == "truncated_end"]
    assert note.lines == ((600, 600),)


def test_midnight_adds_a_day_also_where_only_gga_has_a_time(make_drive, sentence, write) -> None:
    drive = make_drive(start="2024-12-31T23:59:50")
    lines = lines_of(drive, sentence)
    only_first = lines[:1] + [line for line in lines[1:] if "GGA" in line]
    log = read_log(write(only_first))
    assert log.fixes["time_s"].to_numpy() == pytest.approx(np.arange(200) / 10, abs=1e-9)
    assert log.start_utc.value == drive.time_ns[0]
    assert "midnight" in {note.code for note in log.findings}


def test_a_date_that_comes_late_holds_for_what_was_before(make_drive, sentence, write) -> None:
    drive = make_drive(start="2024-12-31T23:59:50")
    lines = [line for line in lines_of(drive, sentence) if "GGA" in line]
    late = [line for line in lines_of(drive, sentence) if "RMC" in line][150:]
    log = read_log(write(lines[:150] + late))
    assert log.start_utc.value == drive.time_ns[0]


def test_zda_gives_the_date(make_drive, sentence, write) -> None:
    drive = make_drive(start="2024-06-15T10:00:00")
    lines = [line for line in lines_of(drive, sentence) if "GGA" in line]
    zda = sentence("GPZDA,100000.000,15,06,2024,00,00")
    log = read_log(write([zda, *lines]))
    assert log.start_utc.value == drive.time_ns[0]


def test_without_a_date_there_is_a_time_of_day(make_drive, sentence, write) -> None:
    drive = make_drive(start="2024-06-15T10:00:00")
    log = read_log(write(lines_of(drive, sentence, date=False)))
    assert log.time_scale == "time_of_day"
    assert log.start_utc is None
    assert log.first_fix_s == 36_000.0
    assert "no_date" in {note.code for note in log.findings}


def test_no_fix_is_not_invented(make_drive, sentence, write) -> None:
    lines = lines_of(make_drive(), sentence)
    void = [
        sentence("GNRMC,123455.00,V,,,,,,,150624,,,N"),
        sentence("GNGGA,123455.00,,,,,0,00,99.99,,M,,M,,"),
    ]
    log = read_log(write(void + lines))
    assert len(log.fixes) == 200
    (note,) = [note for note in log.findings if note.code == "no_fix"]
    assert note.lines == ((1, 1),)
    with pytest.raises(LogError, match="never had a valid position"):
        read_log(write(void * 20))


def test_sentences_without_checksum_are_read_with_a_finding(make_drive, sentence, write) -> None:
    lines = [line.partition("*")[0] for line in lines_of(make_drive(), sentence)]
    log = read_log(write(lines))
    assert len(log.fixes) == 200
    assert "no_checksum" in {note.code for note in log.findings}


def test_other_sentences_alone_are_refused(write, sentence) -> None:
    lines = [sentence("GPGSV,1,1,01,03,03,111,00")] * 20
    with pytest.raises(LogError, match="RMC, GGA or GNS"):
        read_log(write(lines))


def test_vtg_gives_speed_where_there_is_no_rmc(make_drive, sentence, write) -> None:
    drive = make_drive()
    gga = [line for line in lines_of(drive, sentence) if "GGA" in line]
    vtg = [
        sentence(f"GPVTG,{c:.2f},T,,M,{v * 3600 / 1852:.4f},N,{v * 3.6:.4f},K,A")
        for v, c in zip(drive.speed_mps, drive.course_deg, strict=True)
    ]
    log = read_log(write([line for pair in zip(gga, vtg, strict=True) for line in pair]))
    assert log.fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=1e-4)
    assert log.fixes["course_deg"].to_numpy() == pytest.approx(drive.course_deg, abs=0.006)


def test_a_field_longer_than_a_sentence_is_none(sentence) -> None:
    # Sentences have 82 characters at most: NMEA 0183, from memory.
    rest = "A,5200.0,N,00500.0,E,1.0,90.0,150624,,,A"
    lines = [sentence(f"GPRMC,{time},{rest}") for time in ("120000.0" + "(" * 50_000, "120001.0")]
    found = find_sentences("\n".join(lines).encode(), ("RMC",), [])["RMC"]
    # As a matrix each field would be as wide as the widest.
    assert found.letters("time").shape[1] <= 80
    assert (found.letters("time")[0] == ord(" ")).all()
    assert found.letters("time")[1].tobytes().strip() == b"120001.0"
    assert found.number("speed").tolist() == [1.0, 1.0]


def test_the_last_field_of_a_file_is_read_from_its_own_beginning(sentence) -> None:
    # A date elsewhere is wider than what is left of the file behind the last one's beginning.
    lines = [
        sentence(f"GPRMC,120000.0,A,5200.0,N,00500.0,E,1.0,90.0,{date},,A")
        for date in ("010203" + "9" * 60, "150624")
    ]
    found = find_sentences("\n".join(lines).encode(), ("RMC",), [])["RMC"]
    assert found.letters("date")[1].tobytes().strip() == b"150624"

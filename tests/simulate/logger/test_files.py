"""Files of the simulator, read by general-purpose means."""

import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import reduce
from operator import xor
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import shapely

from lapwright import simulate as sim

GPX = "{http://www.topografix.com/GPX/1/1}"
START = "2026-02-06T23:55:00Z"  # passes midnight


@pytest.fixture(scope="module")
def recording(short_run: sim.TrueRun) -> sim.Recording:
    return sim.receive(short_run, sim.Receiver(rate_hz=5.0, no_fix_s=3.0), 1, engine=True)


def _when(recording: sim.Recording) -> pd.DatetimeIndex:
    stamp = recording.fixes["stamp_s"].to_numpy()
    return pd.DatetimeIndex(pd.Timestamp(START) + pd.to_timedelta(np.round(stamp * 1e3), unit="ms"))


def test_plain_csv(recording: sim.Recording, tmp_path: Path) -> None:
    sim.write_csv(recording, tmp_path / "a.csv")
    table = pd.read_csv(tmp_path / "a.csv")
    fixes = recording.fixes
    assert table.columns.tolist() == ["time (s)", "latitude", "longitude", "speed (km/h)", "course"]
    np.testing.assert_allclose(table["time (s)"], fixes["stamp_s"], rtol=0, atol=5.1e-4)
    np.testing.assert_allclose(table["latitude"], fixes["lat_deg"], rtol=0, atol=5.1e-8)
    np.testing.assert_allclose(table["speed (km/h)"] / 3.6, fixes["speed_mps"], rtol=0, atol=2e-3)
    assert [p.name for p in tmp_path.iterdir()] == ["a.csv"]  # nothing half written is left


def test_csv_dialect(recording: sim.Recording, tmp_path: Path) -> None:
    style = sim.CsvStyle(
        delimiter=";",
        decimal=",",
        time="local",
        utc_offset_h=9.5,
        headers=(("time", "Zeit"), ("lat_deg", "Breite"), ("lon_deg", "Länge"),
                 ("speed_mps", "knots"), ("rpm", "U/min"), ("nothing", "Nichts")),
        speed_unit="knots",
        preamble=("Lauf;3", "Fahrer;B"),
        quoted=True,
        crlf=True,
        encoding="latin-1",
        channel_every=5,
    )  # fmt: skip
    sim.write_csv(recording, tmp_path / "b.csv", style, START)
    data = (tmp_path / "b.csv").read_bytes()
    assert data.count(b"\r\n") == data.count(b"\n") == len(recording.fixes) + 3
    table = pd.read_csv(
        tmp_path / "b.csv", sep=";", decimal=",", skiprows=2, encoding="latin-1", quotechar='"'
    )
    assert table.columns.tolist() == ["Zeit", "Breite", "Länge", "knots", "U/min"]
    assert table["Zeit"].iloc[0].endswith("+09:30")
    when = pd.to_datetime(table["Zeit"], utc=True)
    assert (when == _when(recording)).all()
    np.testing.assert_allclose(
        table["knots"] * 1852 / 3600, recording.fixes["speed_mps"], rtol=0, atol=3e-3
    )
    rpm = pd.to_numeric(table["U/min"])
    assert rpm.notna().sum() == len(range(0, len(table), 5))


@pytest.mark.parametrize("kind", ["utc", "epoch", "time_of_day", "gps_week"])
def test_csv_times(recording: sim.Recording, tmp_path: Path, kind: str) -> None:
    headers = (("gps_week", "week"), ("time", "time"), ("lat_deg", "lat"), ("lon_deg", "lon"))
    sim.write_csv(recording, tmp_path / "c.csv", sim.CsvStyle(time=kind, headers=headers), START)
    table = pd.read_csv(tmp_path / "c.csv")
    when = _when(recording)
    if kind == "utc":
        assert (pd.to_datetime(table["time"], format="ISO8601") == when).all()
    elif kind == "epoch":
        np.testing.assert_allclose(
            table["time"],
            when.asi8 / 10.0 ** (9 if when.unit == "ns" else 6 if when.unit == "us" else 3),
            rtol=0,
            atol=1e-3,
        )
    elif kind == "time_of_day":
        assert table["time"].iloc[0] == f"{when[0]:%H:%M:%S}.{when[0].microsecond // 1000:03d}"
        assert table["time"].str.startswith("00:").any()
    else:
        # 2026-02-06 is day 16 839 since 1980-01-06: week 2405 and 4 days and a part; GPS time
        # runs 18 s ahead of UTC (IERS Bulletin C).
        assert table["week"].iloc[0] == 2404 or table["week"].iloc[0] == 2405
        gps = pd.Timestamp("1980-01-06") + pd.to_timedelta(
            table["week"] * 604800 + table["time"] - 18.0, unit="s"
        )
        error = gps.to_numpy() - when.tz_localize(None).to_numpy()
        assert np.abs(error / np.timedelta64(1, "us")).max() < 1100


def test_csv_flaws(short_run: sim.TrueRun, tmp_path: Path) -> None:
    receiver = sim.Receiver(rate_hz=5.0, duplicates=6, disorder=4)
    recording = sim.receive(short_run, receiver, 1)
    style = sim.CsvStyle(bom=True, cut_last_line=True)
    sim.write_csv(recording, tmp_path / "d.csv", style)
    data = (tmp_path / "d.csv").read_bytes()
    assert data.startswith(b"\xef\xbb\xbf")
    assert not data.endswith(b"\n")
    lines = data.decode("utf-8-sig").splitlines()
    assert len(lines) == len(recording.fixes) + 1 + 6
    times = pd.Series([float(line.split(",")[0]) for line in lines[1:-1]])
    assert (times.diff() == 0).sum() == 6
    assert 3 <= (times.diff() < 0).sum() <= 4


def test_unknown_time_style(recording: sim.Recording, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="as 'sundial'"):
        sim.write_csv(recording, tmp_path / "e.csv", sim.CsvStyle(time="sundial"))
    assert not list(tmp_path.iterdir())


def test_gpx(short_run: sim.TrueRun, tmp_path: Path) -> None:
    line = float(short_run.laps["start_s"].iloc[3])
    receiver = sim.Receiver(rate_hz=5.0, gaps=((line, 5.0),))
    recording = sim.receive(short_run, receiver, 1)
    sim.write_gpx(recording, tmp_path / "a.gpx", START, "Test & more")
    root = ET.parse(tmp_path / "a.gpx").getroot()
    assert root.get("version") == "1.1"
    assert root.find(f"{GPX}trk/{GPX}name").text == "Test & more"  # type: ignore[union-attr]
    assert len(root.findall(f"{GPX}trk/{GPX}trkseg")) == 2
    points = root.findall(f".//{GPX}trkpt")
    fixes = recording.fixes
    np.testing.assert_allclose(
        [float(p.get("lat")) for p in points], fixes["lat_deg"], rtol=0, atol=6e-8
    )  # type: ignore[arg-type]
    times = pd.to_datetime([p.findtext(f"{GPX}time") for p in points], format="ISO8601")
    assert (times == _when(recording)).all()
    # GPX 1.1 has no speed of its own: only extensions in another namespace are valid.
    speeds = [float(p.findtext(f"{GPX}extensions/{{urn:lapwright:motion}}speed")) for p in points]  # type: ignore[arg-type]
    np.testing.assert_allclose(speeds, fixes["speed_mps"], rtol=0, atol=6e-4)
    # Order in trkpt: ele, time, ..., extensions.
    assert [c.tag.split("}")[1] for c in points[0]] == ["ele", "time", "extensions"]


def test_gpx_without_velocity(short_run: sim.TrueRun, tmp_path: Path) -> None:
    recording = sim.receive(short_run, sim.Receiver(rate_hz=1.0, velocity="none"), 1)
    sim.write_gpx(recording, tmp_path / "b.gpx", START)
    assert "extensions" not in (tmp_path / "b.gpx").read_text()


def _checksum_fits(line: str) -> bool:
    body, _, given = line[1:].partition("*")
    return f"{reduce(xor, body.encode()):02X}" == given


def test_nmea_sentence_of_the_books() -> None:
    # A sentence that stands in most receiver handbooks, checksum included.
    from lapwright.simulate.logger.write_nmea import sentence

    body = "GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,"
    assert sentence(body) == f"${body}*47"


def test_nmea(recording: sim.Recording, tmp_path: Path) -> None:
    sim.write_nmea(recording, tmp_path / "a.nmea", START, corrupt_lines=5)
    lines = (tmp_path / "a.nmea").read_text().splitlines()
    fits = [_checksum_fits(line) for line in lines]
    assert fits.count(False) == 5
    assert max(map(len, lines)) <= 80  # 82 with the line end
    good = [line.split("*")[0].split(",") for line, fit in zip(lines, fits, strict=True) if fit]
    void = [f for f in good if f[0] == "$GNRMC" and f[2] == "V"]
    assert 1 <= len(void) <= 3
    rmc = [f for f in good if f[0] == "$GNRMC" and f[2] == "A"]
    when = pd.to_datetime([f[9] + f[1] for f in rmc], format="%d%m%y%H%M%S.%f", utc=True)
    fixes = recording.fixes.set_index(_when(recording)).loc[when]
    lat = np.array(
        [(int(f[3][:2]) + float(f[3][2:]) / 60) * (-1 if f[4] == "S" else 1) for f in rmc]
    )
    lon = np.array(
        [(int(f[5][:3]) + float(f[5][3:]) / 60) * (-1 if f[6] == "W" else 1) for f in rmc]
    )
    np.testing.assert_allclose(lat, fixes["lat_deg"], rtol=0, atol=1e-8)
    np.testing.assert_allclose(lon, fixes["lon_deg"], rtol=0, atol=1e-8)
    knots = np.array([float(f[7]) for f in rmc])
    np.testing.assert_allclose(knots * 1852 / 3600, fixes["speed_mps"], rtol=0, atol=3e-4)
    gga = [f for f in good if f[0] == "$GNGGA"]
    assert abs(len(gga) - len(rmc)) <= 5
    assert {f[6] for f in gga} == {"1"}


def test_nmea_without_velocity(short_run: sim.TrueRun, tmp_path: Path) -> None:
    recording = sim.receive(short_run, sim.Receiver(rate_hz=1.0, velocity="none"), 1)
    sim.write_nmea(recording, tmp_path / "b.nmea", START)
    fields = (tmp_path / "b.nmea").read_text().splitlines()[1].split(",")
    assert fields[0] == "$GNGGA" or fields[7:9] == ["", ""]


def test_track_file(wren: sim.Circuit, tmp_path: Path) -> None:
    sim.write_track(wren, tmp_path / "t.geojson", names={1: "Gatehouse", 3: "Wren"})
    track = json.loads((tmp_path / "t.geojson").read_text())
    assert track["type"] == "FeatureCollection"
    assert track["name"] == wren.name
    # Ten corners, eight of them right-handers: clockwise.
    assert track["direction"] == "clockwise"
    roles = [f["properties"]["role"] for f in track["features"]]
    assert roles == ["start_finish", "sector", "sector", "pit_lane", "corner", "corner"]
    start = shapely.from_geojson(json.dumps(track["features"][0]["geometry"]))
    left = wren.to_degrees(wren.gates[0])[0]
    np.testing.assert_allclose(
        start.coords[0], left[::-1], rtol=0, atol=1e-8
    )  # lon, lat; left first
    assert track["features"][4]["properties"]["name"] == "Gatehouse"
    eight = tmp_path / "e.geojson"
    sim.write_track(sim.invented("eight"), eight)
    assert "direction" not in json.loads(eight.read_text())


def test_truth_file(eventful_run: sim.TrueRun, tmp_path: Path) -> None:
    recording = sim.receive(eventful_run, replace(sim.ORDINARY, no_fix_s=5.0), 1)
    sim.write_truth(recording, tmp_path / "t.json")
    text = (tmp_path / "t.json").read_text()
    assert not re.search(r"\bNaN\b|Infinity", text)
    found = json.loads(text)
    laps = eventful_run.laps
    assert [lap["kind"] for lap in found["laps"]] == laps["kind"].tolist()
    assert found["laps"][-1]["time_s"] is None
    for lap, row in zip(found["laps"][:-1], laps.iloc[:-1].itertuples(), strict=True):
        assert lap["time_s"] == pytest.approx(row.time_s, abs=1e-9)
        # On the log's axis, which begins with the first fix.
        assert lap["start_s"] + recording.zero_s == pytest.approx(row.start_s, abs=1e-8)
    best = found["deltas"]["reference"]
    assert not found["laps"][best]["flags"]
    for lap, delta in found["deltas"]["delta_s"].items():
        times = [found["laps"][k]["time_s"] for k in (int(lap), best)]
        assert delta[-1] == pytest.approx(times[0] - times[1], abs=2e-6)
    assert found["receiver"]["rate_hz"] == 10.0

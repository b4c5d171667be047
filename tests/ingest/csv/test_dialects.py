"""Property: the same fixes, written in different dialects, read back as the same fixes."""

import gzip

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lapwright.ingest import read_log

HEADERS = {
    "en": ("time", "latitude", "longitude", "speed", "course"),
    "de": ("Zeit", "Breite", "Länge", "Geschwindigkeit", "Kurs"),
    "fr": ("Heure", "Latitude", "Longitude", "Vitesse", "Cap"),
    "it": ("Ora", "Latitudine", "Longitudine", "Velocità", "Direzione"),
    "es": ("Tiempo", "Latitud", "Longitud", "Velocidad", "Rumbo"),
    "nl": ("Tijd", "Breedtegraad", "Lengtegraad", "Snelheid", "Koers"),
    "pt": ("Hora", "Latitude", "Longitude", "Velocidade", "Rumo"),
    "sv": ("Tid", "Latitud", "Longitud", "Hastighet", "Kurs"),
    "da": ("Tidspunkt", "Breddegrad", "Længdegrad", "Hastighed", "Retning"),
    "no": ("Klokkeslett", "Breddegrad", "Lengdegrad", "Fart", "Kurs"),
    "fi": ("Aika", "Leveysaste", "Pituusaste", "Nopeus", "Kulkusuunta"),
    "pl": ("Czas", "Szerokość geograficzna", "Długość geograficzna", "Prędkość", "Kierunek"),
    "cs": ("Čas", "Zeměpisná šířka", "Zeměpisná délka", "Rychlost", "Kurz"),
    "sk": ("Čas", "Zemepisná šírka", "Zemepisná dĺžka", "Rýchlosť", "Smer"),
    "hu": ("Idő", "Földrajzi szélesség", "Földrajzi hosszúság", "Sebesség", "Irány"),
    "sl": ("Čas", "Zemljepisna širina", "Zemljepisna dolžina", "Hitrost", "Smer vožnje"),
    "hr": ("Vrijeme", "Geografska širina", "Geografska dužina", "Brzina", "Smjer"),
    "ro": ("Timp", "Latitudine", "Longitudine", "Viteză", "Direcţie"),
    "tr": ("Zaman", "Enlem", "Boylam", "Hız", "Yön"),
}
BEFORE_UNICODE = dict.fromkeys(("pl", "cs", "sk", "hu", "sl", "hr", "ro"), "cp1250")
BEFORE_UNICODE["tr"] = "cp1254"
# Metres a second in one of each (NIST SP 811), and ways to write the unit.
SPEEDS = {
    "m/s": (1.0, ("{} (m/s)", "{}_mps", "{} [m/s]", "{} m/s")),
    "km/h": (1 / 3.6, ("{} (km/h)", "{}_kmh", "{} [KPH]", "{}_kph", "{} km/h")),
    "mph": (0.44704, ("{} (mph)", "{} [mph]", "{}_mph")),
    "knots": (1852 / 3600, ("{} (kn)", "{} [knots]", "{}_knots", "{} (kts)")),
}
POSITIONS = ("degrees", "letters", "letters in front", "minutes", "1e-7", "columns", "ddmm")
TIMES = ("iso", "iso offset", "iso space", "epoch", "epoch ms", "seconds", "clock", "date and time",
         "dmy and time", "week")  # fmt: skip


def write_place(kind: str, value: np.ndarray, letters: str, digits: int) -> list[str]:
    """Write a coordinate."""
    side = np.where(value < 0, letters[1], letters[0])
    size = np.abs(value)
    if kind == "letters":
        return [f"{a:.7f} {b}" for a, b in zip(size, side, strict=True)]
    if kind == "letters in front":
        return [f"{b}{a:.7f}" for a, b in zip(size, side, strict=True)]
    if kind == "minutes":
        return [f"{int(a)}° {(a - int(a)) * 60:.6f}' {b}" for a, b in zip(size, side, strict=True)]
    if kind == "1e-7":
        return [f"{round(a * 1e7):d}" for a in value]
    if kind == "ddmm":
        return [
            f"{int(a):0{digits}d}{(a - int(a)) * 60:09.6f}{b}"
            for a, b in zip(size, side, strict=True)
        ]
    return [f"{a:.7f}" for a in (size if kind == "columns" else value)]


def write_time(kind: str, time_ns: np.ndarray, iso) -> tuple[list[str], list[list[str]]]:
    """Write times: headers in English and columns."""
    start_ns = time_ns[0]
    day_ns = 86_400 * 10**9
    if kind == "iso":
        return ["time"], [iso(time_ns)]
    if kind == "iso space":
        return ["time"], [iso(time_ns, zone="", between=" ")]
    if kind == "iso offset":
        return ["time"], [iso(time_ns + 37_800 * 10**9, zone="+10:30")]
    if kind == "epoch":
        return ["time"], [[f"{t // 10**9}.{t % 10**9 // 10**6:03d}" for t in time_ns]]
    if kind == "epoch ms":
        return ["time"], [[str(t // 10**6) for t in time_ns]]
    if kind == "seconds":
        return ["time"], [[f"{(t - start_ns) / 1e9:.3f}" for t in time_ns]]
    clock = [text[11:] for text in iso(time_ns, zone="")]
    if kind == "clock":
        return ["time"], [clock]
    if kind == "date and time":
        return ["date", "time"], [[text[:10].replace("-", "/") for text in iso(time_ns)], clock]
    if kind == "dmy and time":
        dates = [text[:10].split("-") for text in iso(time_ns)]
        return ["date", "time"], [[f"{d}.{m}.{y}" for y, m, d in dates], clock]
    gps_ns = time_ns - 315_964_800 * 10**9 + 18 * 10**9
    week = gps_ns // (7 * day_ns)
    tow = gps_ns % (7 * day_ns)
    return ["GPS week", "Time of week (s)"], [
        [str(w) for w in week],
        [f"{t // 10**9}.{t % 10**9 // 10**6:03d}" for t in tow],
    ]


@given(data=st.data())
@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
def test_the_same_fixes_come_back_from_every_dialect(
    data, tmp_path_factory, make_drive, iso, write_csv
) -> None:
    draw = data.draw
    language = draw(st.sampled_from(sorted(HEADERS)))
    position = draw(st.sampled_from(POSITIONS))
    when = draw(st.sampled_from(TIMES))
    unit = draw(st.sampled_from([*SPEEDS, ""]))
    delimiter = draw(st.sampled_from([",", ";", "\t", "|"]))
    decimal = draw(st.sampled_from([".", ","])) if delimiter != "," else "."
    drive = make_drive(
        count=draw(st.integers(120, 300)),
        rate_hz=draw(st.sampled_from([5.0, 10.0, 20.0, 25.0])),
        start=draw(
            st.sampled_from(["2024-06-15T12:34:56", "2024-12-31T23:59:55.2", "2019-02-28T00:00:00"])
        ),
        lat0_deg=draw(st.sampled_from([51.4, -37.8, -0.0006, 10.4])),
        lon0_deg=draw(st.sampled_from([144.9, -1.9, 179.9999, -180.0, 7.5])),
        speed_mps=draw(st.sampled_from([12.0, 30.0, 60.0])),
        seed=draw(st.integers(0, 9)),
    )
    name_time, lat_name, lon_name, speed_name, course_name = HEADERS[language]
    time_headers, times = write_time(when, drive.time_ns, iso)
    if time_headers == ["time"]:
        time_headers = [name_time]
    header, columns = [*time_headers], [*times]
    header += [lat_name, lon_name]
    columns.append(write_place(position, drive.lat_deg, "NS", 2))
    columns.append(write_place(position, drive.lon_deg, "EW", 3))
    if position == "columns":
        header += ["N/S", "E/W"]
        columns.append(list(np.where(drive.lat_deg < 0, "S", "N")))
        columns.append(list(np.where(drive.lon_deg < 0, "W", "E")))
    factor, names = SPEEDS.get(unit, (1 / 3.6, ("{}",)))
    header += [draw(st.sampled_from(names)).format(speed_name), course_name]
    columns.append([f"{v / factor:.4f}" for v in drive.speed_mps])
    columns.append([f"{c:.2f}" for c in drive.course_deg])
    if decimal == ",":
        columns = [
            column
            if ":" in column[0] or (column is times[0] and "-" in column[0] and ":" in column[0])
            else [text.replace(".", ",") if text.count(".") == 1 else text for text in column]
            for column in columns
        ]
    order = draw(st.permutations(range(len(header))))
    before_unicode = BEFORE_UNICODE.get(language, "latin-1")
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", before_unicode]))
    folder = tmp_path_factory.mktemp("dialect")
    path = write_csv(
        folder / "log.csv",
        [header[i] for i in order],
        [columns[i] for i in order],
        delimiter=delimiter,
        end=draw(st.sampled_from(["\n", "\r\n"])),
        encoding=encoding,
        quote=draw(st.booleans()),
        blank=draw(st.sampled_from(["", " "])),
        before=draw(
            st.sampled_from(["", "Session: morning\n", "Driver;B\nCar;7\n\n", "# a log\n"])
        ),
        last_end=draw(st.booleans()),
    )
    if draw(st.booleans()):
        packed = folder / "log.csv.gz"
        packed.write_bytes(gzip.compress(path.read_bytes()))
        path = packed
    log = read_log(path)
    fixes = log.fixes
    assert len(fixes) == len(drive.time_ns), log.findings
    want_s = (drive.time_ns - drive.time_ns[0]) / 1e9
    assert fixes["time_s"].to_numpy() == pytest.approx(want_s, abs=1e-7)
    # Positions are written to 1e-7 degrees, or to a finer part of a minute.
    assert fixes["lat_deg"].to_numpy() == pytest.approx(drive.lat_deg, abs=2e-8)
    east = (fixes["lon_deg"].to_numpy() - drive.lon_deg + 180.0) % 360.0 - 180.0
    assert np.abs(east).max() < 2e-8
    assert fixes["lon_deg"].between(-180.0, 180.0, inclusive="left").all()
    assert fixes["speed_mps"].to_numpy() == pytest.approx(drive.speed_mps, abs=1e-4)
    assert fixes["course_deg"].to_numpy() == pytest.approx(drive.course_deg, abs=0.006)
    if when not in ("seconds", "clock"):
        assert log.start_utc is not None
        assert log.start_utc.value == drive.time_ns[0]
    else:
        assert log.start_utc is None

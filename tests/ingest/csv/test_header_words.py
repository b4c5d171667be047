"""Headers in many languages, their units, and words that mean something else."""

import pytest

from lapwright.ingest.csv.header_words import SPEED_UNITS, plain, read_header, unit_of


@pytest.mark.parametrize(
    ("header", "role", "unit"),
    [
        ("Speed (km/h)", "speed", "km/h"),
        ("speed [mph]", "speed", "mph"),
        ("speed_kph", "speed", "km/h"),
        ("speed_mps", "speed", "m/s"),
        ("SPEED", "speed", None),
        ("Ground Speed (m/s)", "speed", "m/s"),
        ("speed_ms", "speed", "m/s"),
        ("GPS Speed [knots]", "speed", "knots"),
        ("Geschwindigkeit in km/h", "speed", "km/h"),
        ("Geschw. (km/h)", "speed", "km/h"),
        ("Vitesse (km/h)", "speed", "km/h"),
        ("Velocità [km/h]", "speed", "km/h"),
        ("Hastighed (km/t)", "speed", "km/h"),
        ("Fart (knop)", "speed", "knots"),
        ("Prędkość [km/godz]", "speed", "km/h"),
        ("Hız (km/sa)", "speed", "km/h"),
        ("Zeměpisná šířka", "latitude", None),
        ("Længdegrad", "longitude", None),
        ("DŁUGOŚĆ GEOGRAFICZNA", "longitude", None),
        ("Otáčky motoru", "rpm", None),
        ("Snelheid (km/u)", "speed", "km/h"),
        ("Tempo (km/h)", "speed", "km/h"),
        ("Tempo", "time", None),
        ("time_s", "time", "s"),
        ("time_ms", "time", "ms"),
        ("Timestamp [ms]", "time", "ms"),
        ("time_unix_s", "time", "s"),
        ("Horodatage", "time", None),
        ("lat_deg", "latitude", "deg"),
        ("Latitude [°]", "latitude", "deg"),
        ("Breitengrad", "latitude", None),
        ("Länge", "longitude", None),
        ("lng", "longitude", None),
        ("longitude_1e-7", "longitude", "1e-7 deg"),
        ("GPS_Latitude", "latitude", None),
        ("gpsLongitude", "longitude", None),
        ("GPS week", "gps_week", None),
        ("Time of week (s)", "gps_tow", "s"),
        ("TOW [ms]", "gps_tow", "ms"),
        ("Höhe (m)", "height", "m"),
        ("Altitude [ft]", "height", "ft"),
        ("cog (deg)", "course", "deg"),
        ("Cap", "course", None),
        ("HDOP", "hdop", None),
        ("Horizontal accuracy (mm)", "position_sd", "mm"),
        ("Motordrehzahl", "rpm", None),
        ("Engine speed (rpm)", "rpm", "rpm"),
        ("Gaspedal (%)", "throttle", "%"),
        ("Throttle %", "throttle", "%"),
        ("throttle_pct", "throttle", "%"),
        ("tps_pct", "throttle", "%"),
        ("throttle_percent", "throttle", "%"),
        ("ThrottlePct", "throttle", "%"),
        ("Throttle (pct)", "throttle", "%"),
        ("throttle_position_pct", "throttle", "%"),
        ("accel_pedal_pct", "throttle", "%"),
        ("pedal_pct", "throttle", "%"),
        ("Gaspedal_Prozent", "throttle", "%"),
        ("brake_pct", "brake", "%"),
        ("brake_pos_pct", "brake", "%"),
        ("brake_pressure_bar", "brake", "bar"),
        ("brake_psi", "brake", "psi"),
        ("brake_kpa", "brake", "kpa"),
        ("steering_deg", "steering", "deg"),
        ("engine_rpm", "rpm", "1/min"),
        ("engine_speed_rpm", "rpm", "rpm"),
        ("speed_kmh", "speed", "km/h"),
        ("speed_mph", "speed", "mph"),
        ("oil_temp_c", None, "\N{DEGREE SIGN}C"),
        ("coolant_temp_f", None, "\N{DEGREE SIGN}F"),
        ("brake_f", "brake", "f"),
        ("track_c", "course", "c"),
        ("track_temp_c", None, "\N{DEGREE SIGN}C"),
        ("lat_g", None, "g"),
        ("long_g", None, "g"),
        ("fuel_pct", None, "%"),
        ("wheel_slip_pct", None, "%"),
        ("Freno", "brake", None),
        ("Lenkwinkel [°]", "steering", "deg"),
        ("Volant", "steering", None),
        ("N/S", "lat_hemisphere", None),
        ("Wheel speed FL (km/h)", None, "km/h"),
        ("vertical speed", None, None),
        ("Lap time", None, None),
        ("speed accuracy", "speed_sd", None),
        ("Oil temp [°C]", None, "°C"),
        ("x_m", "x", "m"),
        ("MPH", "speed", "mph"),
        ("km/h", "speed", "km/h"),
        ("[kph]", "speed", "km/h"),
        ("Knots", "speed", "knots"),
        ("m/s", "speed", "m/s"),
        ("m/s²", None, None),
        ("kN", None, None),
        ("s", None, None),
    ],
)
def test_headers(header: str, role: str | None, unit: str | None) -> None:
    head = read_header(header)
    assert (head.role, head.unit) == (role, unit)


def test_units_and_what_is_none() -> None:
    assert unit_of("(KM/H)") == "km/h"
    assert unit_of("Monday") is None
    assert unit_of("µs") == "us"


def test_lengths_of_the_units() -> None:
    # NIST SP 811: mile 1609.344 m, knot 1852 m an hour.
    assert SPEED_UNITS["mph"] == 1609.344 / 3600
    assert SPEED_UNITS["knots"] == 1852 / 3600
    assert SPEED_UNITS["km/h"] * 3.6 == 1.0


def test_plain_form() -> None:
    assert plain("  Fahr-Geschw. [über Grund] ") == "fahr geschw uber grund"


def test_a_share_of_a_pedal_gives_way_to_the_pedal() -> None:
    # Beside "throttle" a "throttle_pct" is the second column of one meaning, in either order.
    assert read_header("throttle").sure
    assert not read_header("throttle_pct").sure
    assert read_header("Throttle %").sure

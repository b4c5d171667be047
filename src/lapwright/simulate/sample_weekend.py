"""
The sample sessions: a weekend at Wren Hollow, in the invented world.

Two drivers share one car.  On Friday Runa brakes too early for Gatehouse (corner 1),
is slow at the apex of Long Barrow (corner 4) and late on the throttle out of Home Farm
(corner 10) in about two laps of three.  On Saturday the car is changed, and she has mended
the braking and half of the throttle.  All of it is planted and known exactly, in the
truth files beside the logs.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.circuit.invented import wren_hollow
from lapwright.simulate.driving.cars import LIGHT_CAR, Car
from lapwright.simulate.driving.drive import drive
from lapwright.simulate.driving.driver import BrakeEarly, Driver, LateThrottle, SlowMinimum
from lapwright.simulate.driving.plan import Off, Plan, Spin, Traffic
from lapwright.simulate.logger.car_sensors import CarSensors
from lapwright.simulate.logger.files import write_track, write_truth, write_whole
from lapwright.simulate.logger.receiver import Receiver
from lapwright.simulate.logger.receiving import Recording, receive
from lapwright.simulate.logger.write_csv import CsvStyle, write_csv
from lapwright.simulate.logger.write_gpx import write_gpx
from lapwright.simulate.logger.write_nmea import write_nmea

CORNER_NAMES = {
    1: "Gatehouse",
    2: "Millrace",
    3: "Wren",
    4: "Long Barrow",
    5: "Sallow",
    6: "Stile in",
    7: "Stile out",
    8: "Skylark",
    9: "Orchard",
    10: "Home Farm",
}

# The car as it comes, and with the rear anti-roll bar softer and less pressure.
FRIDAY_CAR = replace(LIGHT_CAR, name="Brackel Wisp")
SATURDAY_CAR = replace(FRIDAY_CAR, lateral_mps2=FRIDAY_CAR.lateral_mps2 * 1.015)

RUNA_FRIDAY = Driver(
    "Runa Tidewell",
    habits=(BrakeEarly(1), SlowMinimum(4), LateThrottle(10)),
)
RUNA_SATURDAY = replace(
    RUNA_FRIDAY,
    habits=(BrakeEarly(1, share=0.12), SlowMinimum(4), LateThrottle(10, share=0.34)),
)
RUNA_SUNDAY = replace(RUNA_FRIDAY, habits=(SlowMinimum(4, share=0.34),))
IVO = Driver(
    "Ivo Marlen", pace=0.978, line_bias_m=-0.3, corner_spread=0.008, habits=(LateThrottle(2),)
)

WEEKEND_TOML = """\
# Notes of a weekend at Wren Hollow.  Everything in here is invented.

[limits]
oil_pressure = { min = 2.8, above_rpm = 4000 }
water_temperature = { max = 105 }

[logs."friday_test.csv"]
driver = "Runa Tidewell"
car = "Brackel Wisp"
tyres = "club slick, set 1, 14 heat cycles"
conditions = "dry"
changes = []
tried = []
notes = "First run of the year. Pit stop halfway to check the wheel nuts."

[logs."friday_test_ivo.nmea"]
driver = "Ivo Marlen"
car = "Brackel Wisp"
tyres = "club slick, set 1, 15 heat cycles"
conditions = "dry"
changes = []
tried = []
notes = "Spun out of Long Barrow on the fourth lap, no harm done."

[logs."saturday_practice.csv"]
driver = "Runa Tidewell"
car = "Brackel Wisp"
tyres = "club slick, set 2, new"
conditions = "dry"
changes = ["rear anti-roll bar one hole softer", "pressures 0.1 bar lower all round"]
tried = ["corner 1, braking: where I braked on my quicker laps, not before"]
notes = "Car turns in better."

[logs."saturday_qualifying.gpx"]
driver = "Ivo Marlen"
car = "Brackel Wisp"
tyres = "club slick, set 2, 1 heat cycle"
conditions = "dry"
changes = []
tried = []
notes = "Logged with the other receiver. Traffic on the third lap."

[logs."sunday_race.csv"]
driver = "Runa Tidewell"
car = "Brackel Wisp"
tyres = "club slick, set 2, 3 heat cycles"
conditions = "dry"
changes = []
tried = ["corner 10, throttle: as early as on my quicker laps"]
notes = "Standing start from the fourth row. Ran wide at Orchard on lap 5 of the race."
"""

FRIDAY_STYLE = CsvStyle(
    delimiter=";",
    decimal=",",
    time="local",
    utc_offset_h=10.0,
    headers=(
        ("time", "Local time"),
        ("lat_deg", "Latitude (deg)"),
        ("lon_deg", "Longitude (deg)"),
        ("height_m", "Height (m)"),
        ("speed_mps", "Speed (km/h)"),
        ("course_deg", "Course (deg)"),
    ),
    preamble=("Session;Friday test", "Driver;Runa"),
    crlf=True,
    bom=True,
)
ENGINE_STYLE = CsvStyle(
    headers=(
        ("time", "time [s]"),
        ("lat_deg", "lat"),
        ("lon_deg", "lon"),
        ("speed_mps", "speed [m/s]"),
        ("rpm", "rpm"),
        ("throttle_pct", "throttle [%]"),
        ("brake_bar", "brake pressure [bar]"),
        ("steering_deg", "steering [deg]"),
        ("oil_pressure_bar", "oil pressure [bar]"),
        ("oil_temp_c", "oil temp [°C]"),
        ("water_temp_c", "water temp [°C]"),
        ("battery_v", "battery [V]"),
    ),
    speed_unit="m/s",
    channel_every=2,
)
RACE_STYLE = CsvStyle(
    time="utc",
    headers=(
        ("time", "utc"),
        ("lat_deg", "latitude"),
        ("lon_deg", "longitude"),
        ("speed_mps", "speed (km/h)"),
        ("course_deg", "course"),
    ),
    cut_last_line=True,
)

GOOD_RECEIVER = Receiver(
    white_m=0.25, drift_m=0.9, drift_tau_s=240.0, doppler_mps=0.04, slow_mps=0.015
)

# The pick-up runs dry in long right-handers, and the sensor of the water dies on the sixth lap.
SATURDAY_SENSORS = CarSensors(
    surge_bar=0.9, surge_mps2=8.0, surge_after_s=1.6, dead=(("water_temp_c", 640.0, "held"),)
)


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """One sample session: its file, its run and how it is written."""

    file: str
    car: Car
    driver: Driver
    plan: Plan
    receiver: Receiver
    seed: int
    write: Callable[[Recording, Path], None]
    engine: bool = False
    sensors: CarSensors | None = None


def samples() -> tuple[Sample, ...]:
    """The five sessions of the weekend, in order."""
    return (
        Sample(
            "friday_test.csv",
            FRIDAY_CAR,
            RUNA_FRIDAY,
            Plan((6, 6), events=(Traffic(9),), stop_s=45.0),
            replace(GOOD_RECEIVER, missing=0.003, dropouts=(1, 2.0, 4.0), spikes=3, duplicates=4),
            11,
            lambda r, path: write_csv(r, path, FRIDAY_STYLE, "2026-02-06T00:12:04Z"),
        ),
        Sample(
            "friday_test_ivo.nmea",
            FRIDAY_CAR,
            IVO,
            Plan((7,), events=(Spin(4, corner=4),), garage_s=40.0),
            replace(GOOD_RECEIVER, no_fix_s=12.0, frozen=(1, 1.0, 1.6), latency_s=0.1),
            12,
            lambda r, path: write_nmea(r, path, "2026-02-06T02:40:31Z", corrupt_lines=6),
        ),
        Sample(
            "saturday_practice.csv",
            SATURDAY_CAR,
            RUNA_SATURDAY,
            Plan((8,), garage_s=30.0),
            replace(GOOD_RECEIVER, rate_hz=20.0, velocity="speed", spikes=1, missing=0.002),
            13,
            lambda r, path: write_csv(r, path, ENGINE_STYLE, "2026-02-06T22:05:00Z"),
            engine=True,
            sensors=SATURDAY_SENSORS,
        ),
        Sample(
            "saturday_qualifying.gpx",
            SATURDAY_CAR,
            IVO,
            Plan((5,), events=(Traffic(3, 0.4, 0.8),), garage_s=30.0),
            replace(GOOD_RECEIVER, white_m=0.35, drift_m=1.3, drift_tau_s=150.0, disorder=2),
            14,
            lambda r, path: write_gpx(r, path, "2026-02-07T04:20:12Z", "Saturday qualifying"),
        ),
        Sample(
            "sunday_race.csv",
            SATURDAY_CAR,
            RUNA_SUNDAY,
            Plan((8,), start="grid", events=(Off(5, 9, 9.0),), garage_s=30.0),
            replace(GOOD_RECEIVER, rate_hz=25.0, dropouts=(1, 1.0, 2.0)),
            15,
            lambda r, path: write_csv(r, path, RACE_STYLE, "2026-02-08T03:58:45Z"),
        ),
    )


def record(sample: Sample, circuit: Circuit) -> Recording:
    """Drive and receive one sample session."""
    run = drive(circuit, sample.car, sample.driver, sample.plan, sample.seed)
    return receive(run, sample.receiver, sample.seed, engine=sample.engine, sensors=sample.sensors)


def write_weekend(folder: str | Path) -> list[Path]:
    """
    Write the sample sessions, their track file, notes and truth into a folder.

    The same code writes the same bytes every time.

    Returns
    -------
    paths : list of Path
        What was written.
    """
    target = Path(folder)
    (target / "truth").mkdir(parents=True, exist_ok=True)
    circuit = wren_hollow()
    written = [target / "wren_hollow.geojson", target / "weekend.toml"]
    write_track(circuit, written[0], names=CORNER_NAMES)
    write_whole(written[1], WEEKEND_TOML.encode())
    for sample in samples():
        recording = record(sample, circuit)
        log = target / sample.file
        sample.write(recording, log)
        truth_file = target / "truth" / f"{log.stem}.json"
        write_truth(recording, truth_file)
        written += [log, truth_file]
    return written

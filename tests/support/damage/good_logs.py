"""Short undamaged logs in several notations, made from seeds: what is then damaged."""

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from lapwright import simulate as sim
from lapwright.geometry import Track, read_track

_NO_SPEED = (("time", "time"), ("lat_deg", "latitude"), ("lon_deg", "longitude"))
_UTC = (
    ("time", "UTC"),
    ("lat_deg", "lat"),
    ("lon_deg", "lon"),
    ("height_m", "altitude (m)"),
    ("speed_mps", "speed (m/s)"),
)


@dataclass(frozen=True)
class Kind:
    """What is driven and how it is logged; `rival` drives the same circuit at the same time."""

    circuit: str | int
    car: sim.Car
    laps: int
    rate_hz: float
    suffix: str
    velocity: str = "both"
    style: sim.CsvStyle | None = None
    stamp_step_s: float = 0.0


@dataclass(frozen=True)
class GoodLog:
    """A whole log, another car's of the same minutes, and the track's lines."""

    kind: Kind
    lines: tuple[bytes, ...]
    rival: tuple[bytes, ...]
    track: Track

    @property
    def suffix(self) -> str:
        return self.kind.suffix

    def write(self, folder: Path, lines: list[bytes] | tuple[bytes, ...]) -> Path:
        """Write lines as a file of this log's kind."""
        file = folder / f"log{self.suffix}"
        file.write_bytes(b"".join(lines))
        return file


_SEMICOLONS = sim.CsvStyle(delimiter=";", decimal=",", headers=_NO_SPEED)
KINDS = {
    "car 5 Hz": Kind("wren_hollow", sim.LIGHT_CAR, 3, 5.0, ".csv"),
    "kart 10 Hz utc": Kind(
        "oval", sim.KART, 5, 10.0, ".csv", "speed",
        sim.CsvStyle(time="utc", headers=_UTC, speed_unit="m/s"),
    ),
    "slow car 1 Hz epoch": Kind(
        7, sim.SALOON, 4, 1.0, ".csv", "speed", sim.CsvStyle(time="epoch")
    ),
    "kart 5 Hz no speed": Kind("oval", sim.KART, 5, 5.0, ".csv", "none", _SEMICOLONS),
    "car 2 Hz time of day": Kind(
        11, sim.LIGHT_CAR, 4, 2.0, ".csv", "speed", sim.CsvStyle(time="time_of_day")
    ),
    "kart 12.5 Hz rounded": Kind(
        "oval", sim.KART, 4, 12.5, ".csv", "speed", sim.CsvStyle(time="utc"), stamp_step_s=0.1
    ),
    "kart 5 Hz gpx": Kind("oval", sim.KART, 5, 5.0, ".gpx"),
    "slow car 1 Hz gpx": Kind(7, sim.SALOON, 4, 1.0, ".gpx", "none"),
    "kart 10 Hz nmea": Kind("oval", sim.KART, 4, 10.0, ".nmea"),
    "car 2 Hz nmea": Kind(11, sim.LIGHT_CAR, 3, 2.0, ".nmea", "speed"),
}  # fmt: skip


def _lines(recording: sim.Recording, kind: Kind, folder: Path) -> tuple[bytes, ...]:
    file = folder / f"good{kind.suffix}"
    if kind.suffix == ".csv":
        sim.write_csv(recording, file, kind.style)
    elif kind.suffix == ".gpx":
        sim.write_gpx(recording, file)
    else:
        sim.write_nmea(recording, file)
    return tuple(file.read_bytes().splitlines(keepends=True))


@cache
def good_log(name: str, seed: int = 1) -> GoodLog:
    """Make one of `KINDS`."""
    kind = KINDS[name]
    circuit = sim.invented(kind.circuit)
    receiver = replace(sim.ORDINARY, rate_hz=kind.rate_hz, velocity=kind.velocity)
    receiver = replace(receiver, stamp_step_s=kind.stamp_step_s)
    with TemporaryDirectory() as place:
        folder = Path(place)
        sim.write_track(circuit, folder / "track.geojson")
        texts = []
        for which in (seed, seed + 1000):
            driver = sim.Driver(pace=0.97 if which == seed else 0.93)
            plan = sim.Plan((kind.laps,), garage_s=10.0)
            run = sim.drive(circuit, kind.car, driver, plan, seed=which)
            texts.append(_lines(sim.receive(run, receiver, seed=which), kind, folder))
        return GoodLog(kind, texts[0], texts[1], read_track(folder / "track.geojson"))

"""A drive with known values, and writers that put it into files of many dialects."""

from dataclasses import dataclass

import numpy as np
import pytest


@dataclass(frozen=True, eq=False)
class Drive:
    """Exact values of a drive: times in ns since 1970, degrees, m/s, degrees."""

    time_ns: np.ndarray
    lat_deg: np.ndarray
    lon_deg: np.ndarray
    speed_mps: np.ndarray
    course_deg: np.ndarray


def _make(
    count: int = 200,
    rate_hz: float = 10.0,
    start: str = "2024-06-15T12:34:56",
    lat0_deg: float = -37.8,
    lon0_deg: float = 144.9,
    speed_mps: float = 25.0,
    noise_m: float = 0.05,
    seed: int = 1,
) -> Drive:
    """A circle of 120 m radius at nearly constant speed, values rounded as a logger does."""
    k = np.arange(count)
    time_ns = np.datetime64(start, "ns").astype(np.int64) + np.rint(k * 1e9 / rate_hz).astype(
        np.int64
    )
    t = k / rate_hz
    angle = speed_mps * t / 120.0
    rng = np.random.default_rng(seed)
    north = 120.0 * np.sin(angle) + rng.normal(0, noise_m, count)
    east = 120.0 * np.cos(angle) + rng.normal(0, noise_m, count)
    lat = np.round(lat0_deg + north / 111_200.0, 7)
    lon = lon0_deg + east / (111_320.0 * np.cos(np.radians(lat0_deg)))
    lon = np.round((lon + 180.0) % 360.0 - 180.0, 7)
    course = np.round(np.degrees(np.arctan2(-np.sin(angle), np.cos(angle))) % 360.0, 2) % 360.0
    speed = np.round(np.full(count, speed_mps) + 0.3 * np.sin(t), 3)
    return Drive(time_ns, lat, lon, speed, course)


@pytest.fixture(scope="session")
def make_drive():
    """Give the maker of drives."""
    return _make


@pytest.fixture(scope="session")
def iso():
    """Give a function from ns since 1970 to ISO 8601 text."""

    def text(
        time_ns: np.ndarray, zone: str = "Z", between: str = "T", digits: int = 3
    ) -> list[str]:
        unit = {0: "s", 3: "ms", 6: "us", 9: "ns"}[digits]
        stamps = np.datetime_as_string(time_ns.astype("datetime64[ns]"), unit=unit)
        return [str(stamp).replace("T", between) + zone for stamp in stamps]

    return text


@pytest.fixture(scope="session")
def write_csv():
    """Give a function that writes columns of text into a delimited file."""

    def write(path, header, columns, delimiter=",", end="\n", encoding="utf-8", quote=False,
              blank="", before="", last_end=True):  # fmt: skip
        def cell(text: str) -> str:
            return f'"{text}"' if quote or delimiter in text else text

        rows = [header] if header else []
        rows += [list(row) for row in zip(*columns, strict=True)]
        lines = [(delimiter + blank).join(cell(text) for text in row) for row in rows]
        text = before + end.join(lines) + (end if last_end else "")
        path.write_bytes(text.encode(encoding))
        return path

    return write


def _checksum(body: str) -> str:
    value = 0
    for char in body:
        value ^= ord(char)
    return f"${body}*{value:02X}"


@pytest.fixture(scope="session")
def sentence():
    """Give a function that puts `$`, `*` and the checksum around a sentence."""
    return _checksum

"""One way to read the columns of a file whose header does not say what they are, and its words."""

from dataclasses import dataclass, field

import numpy as np

from lapwright.ingest.csv.header_words import hinted_angle
from lapwright.ingest.csv.inference.drive_evidence import Motion, SpeedFit
from lapwright.ingest.csv.table import Column
from lapwright.ingest.time.counts import Clock

ANGLES = ("latitude", "longitude")
_UNIT_NAMES = {"s": "seconds", "ms": "milliseconds", "us": "microseconds", "ns": "nanoseconds"}


@dataclass(frozen=True, eq=False)
class Reading:
    """
    One way to read the columns: what would play which role, and what follows from it.

    Attributes
    ----------
    roles : dict
        From role to a copy of the column with that role and unit.
    clock : Clock
    motion : Motion
    counter : bool
        The time may be a mere count of the lines.
    hints : int
        Roles that the header hints at.
    speed : (Column, SpeedFit) or None
        The column of speed that fits the positions.
    spare_times : list of Column
        Other columns that tell the same time.
    """

    roles: dict[str, Column]
    clock: Clock
    motion: Motion
    counter: bool
    hints: int
    speed: tuple[Column, SpeedFit] | None
    spare_times: list[Column] = field(default_factory=list)

    @property
    def spread(self) -> float:
        """How badly the logged speed fits; infinite without one."""
        return self.speed[1].spread if self.speed is not None else np.inf


def name(column: Column) -> str:
    """Call a column by its number, and by its header if it has one."""
    number = f"column {column.index + 1}"
    return number if column.header.name == number else f'{number} ("{column.header.name}")'


def _time_name(reading: Reading) -> str:
    """Say what the time column holds."""
    column = reading.roles["time"]
    if reading.clock.has_date and column.kind == "text":
        return "the date and time"
    read_as = reading.clock.read_as.get(column.index, "time")
    if "since 1970" in read_as:
        unit = read_as.split("[")[1].split()[0]
        return f"the time in {_UNIT_NAMES[unit]} since 1970"
    if "of day" in read_as:
        return "the time of day"
    unit_name = _UNIT_NAMES.get(column.header.unit or "")
    return f"the time in {unit_name}" if unit_name else "the time"


def _top(reading: Reading) -> str:
    return f"{reading.motion.top_mps * 3.6:.0f} km/h"


def reason(role: str, column: Column, reading: Reading) -> str:
    """Say what a column was taken for, and why."""
    if role == "time":
        moves = f"the positions then move at up to {_top(reading)}"
        return f"{name(column)} taken for {_time_name(reading)}: it rises evenly, and {moves}"
    if role == "date":
        return f"{name(column)} taken for the date: it holds dates beside the time"
    taken = f"{name(column)} taken for the {role}:"
    if hinted_angle(column.header) == role:
        taken += " its name hints at it;"
    other = ANGLES[1 - ANGLES.index(role)]
    beside = reading.roles.get(other)
    if role == "longitude" and beside is not None:
        return f"{taken} it goes with the latitude in {name(beside)}"
    pair = f"with {name(beside)} as the {other}" if beside is not None else f"with the {other}"
    moves = f"{pair} the positions move evenly, at up to {_top(reading)}"
    if reading.speed is not None:
        return f"{taken} {moves}, and as fast as {name(reading.speed[0])} says"
    if hinted_angle(column.header) == role:
        return f"{taken} {moves}"
    return f"{taken} {moves}, and come round to the same places"


def in_words(reading: Reading) -> str:
    """Put a reading in one phrase."""
    parts = [
        f"{name(column)} as {_time_name(reading) if role == 'time' else 'the ' + role}"
        for role, column in reading.roles.items()
    ]
    return f"{', '.join(parts)} (up to {_top(reading)})"

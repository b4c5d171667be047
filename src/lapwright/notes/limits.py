"""
The limits that a racer sets for the car: the table ``limits`` of the weekend notes.

::

    [limits]
    oil_pressure = { min = 2.0, above_rpm = 3500 }
    water_temperature = { max = 105 }
    "EGT 1" = { max = 900 }      # a column by its own name

A limit that is misread would be watched for in vain, so whatever is odd in this table is an error.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from lapwright.arguments import checked
from lapwright.errors import NotesError, shown
from lapwright.notes.edit import parsed

LIMITS_KEY = "limits"
# What a limit can be for, whatever the column is called in the log.
KINDS = (
    "rpm", "oil_pressure", "oil_temperature", "water_temperature", "fuel_pressure", "battery",
    "wheel_speed",
)  # fmt: skip
_KEYS = ("min", "max", "above_rpm", "unit")


@dataclass(frozen=True, slots=True)
class Limit:
    """
    What a value of the car should stay within.

    Attributes
    ----------
    channel : str
        One of `KINDS`, or the name of a column in the log.
    low, high : float or None
        In the unit of the column; one of them at least.
    above_rpm : float or None
        It counts only from this engine speed on. [1/min]
    unit : str
        The unit that the limit is meant in; it is then not held against a column of another one.

    Raises
    ------
    ValueError
        If there is neither a least nor a most, or the least is not below the most.

    Examples
    --------
    >>> import lapwright as lw
    >>> lw.Limit("oil_pressure", low=2.0, above_rpm=3500.0).low
    2.0
    """

    channel: str
    low: float | None = None
    high: float | None = None
    above_rpm: float | None = None
    unit: str = ""

    def __post_init__(self) -> None:
        if self.low is None and self.high is None:
            msg = f"the limit for {shown(self.channel)} needs min, max or both"
            raise ValueError(msg)
        if self.low is not None and self.high is not None and not self.low < self.high:
            least, most = f"min {self.low:g}", f"max {self.high:g}"
            msg = f"the limit for {shown(self.channel)}: {least} is not below {most}"
            raise ValueError(msg)


@checked
def read_limits(path: str | Path) -> tuple[Limit, ...]:
    """
    Read the limits of the weekend notes.

    Parameters
    ----------
    path : str or Path
        The notes; a file that is not there sets none.

    Returns
    -------
    tuple of Limit
        In the file's order.

    Raises
    ------
    NotesError
        If the file cannot be read, or there is anything odd in its table ``limits``.

    Examples
    --------
    >>> import lapwright as lw
    >>> [limit.channel for limit in lw.read_limits("sample_sessions/weekend.toml")]
    ['oil_pressure', 'water_temperature']
    """
    path = Path(path)
    if not path.exists():
        return ()
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        msg = "cannot be read"
        raise NotesError(msg, path, hint="Save it as UTF-8 text") from error
    table = parsed(text, path).get(LIMITS_KEY, {})
    if not isinstance(table, Mapping):
        msg = f"'{LIMITS_KEY}' is not a table"
        hint = "Write a header [limits] and below it: oil_pressure = { min = 2.0 }"
        raise NotesError(msg, path, hint=hint)
    return tuple(_limit(str(name), values, path) for name, values in table.items())


def _limit(name: str, values: Any, path: Path) -> Limit:
    where = f"'{LIMITS_KEY}.{name}'"
    if not isinstance(values, Mapping):
        msg = f"{where} should be {{ min = ... }} or {{ max = ... }}, not {shown(values)}"
        raise NotesError(msg, path)
    meant = get_close_matches(name.casefold(), KINDS, 1, 0.8)
    if meant and name not in KINDS:
        # A column may be called so; but then it is of that kind anyway.
        msg = f"{where} is not known; write {meant[0]}"
        raise NotesError(msg, path)
    for key in values:
        if key not in _KEYS:
            msg = f"{where} holds {shown(key)}, which is not read; it may hold {', '.join(_KEYS)}"
            raise NotesError(msg, path)
    numbers = {key: _number(values.get(key), f"{where[:-1]}.{key}'", path) for key in _KEYS[:3]}
    unit = values.get("unit", "")
    if not isinstance(unit, str):
        msg = f"{where[:-1]}.unit' should be text, not {shown(unit)}"
        raise NotesError(msg, path)
    try:
        return Limit(name, numbers["min"], numbers["max"], numbers["above_rpm"], unit)
    except ValueError as error:
        raise NotesError(str(error), path) from error


def _number(value: Any, where: str, path: Path) -> float | None:
    if value is None:
        return None
    finite = isinstance(value, int | float) and abs(value) < float("inf")
    if isinstance(value, bool) or not finite:
        msg = f"{where} should be a number, not {shown(value)}"
        raise NotesError(msg, path)
    return float(value)

"""One thing worth trying: what, where, how much time, on what evidence."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any

CODES = ("braking", "minimum_speed", "throttle", "line")


@dataclass(frozen=True, slots=True)
class WorthTrying:
    """
    One thing worth trying in one corner.

    Attributes
    ----------
    corner : int
    code : {"braking", "minimum_speed", "throttle", "line"}
    text : str
        As a coach would say it, with numbers and units.
    time_at_stake_s, time_at_stake_sd_s : float
        How much slower the usual passes were than the quicker ones on average, up to the next
        braking; its sd holds the measurement and the pass-to-pass spread. [s]
    evidence : str
        What it rests on: how many passes of each kind, where they lie, how likely by chance.
    name : str
        The corner's name, or empty.
    usual, better : float
        Middle of the usual and of the quicker passes: a station or an offset [m] or a speed [m/s].
    lowest, highest : float
        The range of the driver's own clean passes, in the same unit.
    better_laps, usual_laps : tuple of int
    chance : float
        Probability that a driver without the habit would give evidence as strong anywhere.
    station_m : float or None
        Where the corner was on the track of then: from the start/finish line to the apex. [m]
    lat_deg, lon_deg : float or None
        The same place on earth, by which it is found again under another number. [deg]

    Examples
    --------
    >>> import lapwright as lw
    >>> lw.WorthTrying(corner=4, code="minimum_speed").code
    'minimum_speed'
    """

    corner: int
    code: str
    text: str = ""
    time_at_stake_s: float = 0.0
    time_at_stake_sd_s: float = 0.0
    evidence: str = ""
    name: str = ""
    usual: float = 0.0
    better: float = 0.0
    lowest: float = 0.0
    highest: float = 0.0
    better_laps: tuple[int, ...] = ()
    usual_laps: tuple[int, ...] = ()
    chance: float = 1.0
    station_m: float | None = None
    lat_deg: float | None = None
    lon_deg: float | None = None

    def __post_init__(self) -> None:
        if self.code not in CODES:
            msg = f"{self.code!r} is not a code for a thing worth trying; allowed are {CODES}"
            raise ValueError(msg)

    @property
    def place_deg(self) -> tuple[float, float] | None:
        """Latitude and longitude of the corner, where both were noted [deg]."""
        if self.lat_deg is None or self.lon_deg is None:
            return None
        return self.lat_deg, self.lon_deg

    def as_mapping(self) -> dict[str, Any]:
        """Its fields by name, for files; without a place that is not known."""
        return {key: value for key, value in asdict(self).items() if value is not None}

    @classmethod
    def from_mapping(cls, mapping: Mapping[str, Any]) -> "WorthTrying":
        """
        Read it back; unknown keys are ignored and missing ones take their default.

        Raises
        ------
        TypeError
            If a number or a text is missing or of another kind.
        """
        values: dict[str, Any] = {}
        for f in fields(cls):
            if f.name not in mapping:
                continue
            value = mapping[f.name]
            if f.name.endswith("_laps"):
                values[f.name] = tuple(int(v) for v in value)
            elif f.type in (str, "str"):
                if not isinstance(value, str):
                    msg = f"'{f.name}' should be text"
                    raise TypeError(msg)
                values[f.name] = value
            else:
                values[f.name] = int(value) if f.name == "corner" else float(value)
        return cls(**values)

"""
One thing worth trying: what, where, how much time, on what evidence.

`WorthTrying` is what was found, in numbers; `WorthTryingInWords` adds the sentences, and is what
weekend notes hold.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from lapwright.arguments import checked
from lapwright.errors import shown

CODES = ("braking", "minimum_speed", "throttle", "line")
# As they stand in weekend notes, which people keep: neither names nor order may change.
FILE_KEYS = (
    "corner", "code", "text", "time_at_stake_s", "time_at_stake_sd_s", "evidence", "name", "usual",
    "better", "lowest", "highest", "better_laps", "usual_laps", "chance", "station_m", "lat_deg",
    "lon_deg",
)  # fmt: skip
# The fields that are called otherwise.
_ATTRIBUTE = {"chance": "p_value"}


@dataclass(frozen=True, slots=True)
class WorthTrying:
    """
    One thing worth trying in one corner.

    Attributes
    ----------
    corner : int
    code : {"braking", "minimum_speed", "throttle", "line"}
    time_at_stake_s, time_at_stake_sd_s : float
        How much slower the usual passes were than the quicker ones on average, up to the next
        braking; its sd holds the measurement and the pass-to-pass spread. [s]
    name : str
        The corner's name, or empty.
    usual, better : float
        Middle of the usual and of the quicker passes: a station or an offset [m] or a speed [m/s].
    lowest, highest : float
        The range of the driver's own clean passes, in the same unit.
    better_laps, usual_laps : tuple of int
    p_value : float
        Probability that a driver without the habit would give evidence as strong anywhere.
    station_m : float or None
        Where the corner was on the track of then: from the start/finish line to the apex. [m]
    lat_deg, lon_deg : float or None
        The same place on earth, by which it is found again under another number. [deg]

    Raises
    ------
    ValueError
        If the code is none of these.

    See Also
    --------
    lapwright.advice_in_words : The sentences, in the units of who reads them.

    Examples
    --------
    >>> import lapwright as lw
    >>> lw.WorthTrying(corner=4, code="minimum_speed").code
    'minimum_speed'
    """

    corner: int
    code: str
    time_at_stake_s: float = 0.0
    time_at_stake_sd_s: float = 0.0
    name: str = ""
    usual: float = 0.0
    better: float = 0.0
    lowest: float = 0.0
    highest: float = 0.0
    better_laps: tuple[int, ...] = ()
    usual_laps: tuple[int, ...] = ()
    p_value: float = 1.0
    station_m: float | None = None
    lat_deg: float | None = None
    lon_deg: float | None = None

    def __post_init__(self) -> None:
        if self.code not in CODES:
            msg = f"{shown(self.code)} is not a code for a thing worth trying; allowed are {CODES}"
            raise ValueError(msg)

    @property
    def place_deg(self) -> tuple[float, float] | None:
        """
        Latitude and longitude of the corner, where both were noted [deg].

        Examples
        --------
        >>> lw.WorthTrying(4, "line", lat_deg=-43.0, lon_deg=144.0).place_deg
        (-43.0, 144.0)
        """
        if self.lat_deg is None or self.lon_deg is None:
            return None
        return self.lat_deg, self.lon_deg


@dataclass(frozen=True, slots=True)
class WorthTryingInWords(WorthTrying):
    """
    One thing worth trying, with what a reader is told.

    Attributes
    ----------
    text : str
        As a coach would say it, with numbers and units.
    evidence : str
        What it rests on: how many passes of each kind, where they lie, how likely by chance.

    Raises
    ------
    ValueError
        If the code is none of those of `WorthTrying`.

    Examples
    --------
    >>> import lapwright as lw
    >>> lw.WorthTryingInWords(4, "line", text="Corner 4: taking the line of ...").corner
    4
    """

    text: str = ""
    evidence: str = ""

    def as_mapping(self) -> dict[str, Any]:
        """
        Its fields by the keys of weekend notes; without a place that is not known.

        Returns
        -------
        dict

        Examples
        --------
        >>> lw.WorthTryingInWords(corner=4, code="braking").as_mapping()["corner"]
        4
        """
        values = {key: getattr(self, _ATTRIBUTE.get(key, key)) for key in FILE_KEYS}
        return {key: value for key, value in values.items() if value is not None}

    @classmethod
    @checked
    def from_mapping(cls, mapping: Mapping[str, Any]) -> "WorthTryingInWords":
        """
        Read it back; unknown keys are ignored and missing ones take their default.

        Parameters
        ----------
        mapping : Mapping
            As `as_mapping` gives it.

        Returns
        -------
        WorthTrying

        Raises
        ------
        TypeError
            If corner or code is missing, or a number or a text is of another kind.
        ValueError
            If a number cannot be read, or the code is none that there is.

        Examples
        --------
        >>> lw.WorthTryingInWords.from_mapping({"corner": 4, "code": "braking"}).corner
        4
        """
        missing = [key for key in ("corner", "code") if key not in mapping]
        if missing:
            msg = f"'{missing[0]}' is missing"
            raise ValueError(msg)
        kinds = {f.name: f.type for f in fields(cls)}
        values: dict[str, Any] = {}
        for key in FILE_KEYS:
            if key not in mapping:
                continue
            name, value = _ATTRIBUTE.get(key, key), mapping[key]
            if key.endswith("_laps"):
                values[name] = tuple(int(v) for v in value)
            elif kinds[name] in (str, "str"):
                if not isinstance(value, str):
                    msg = f"'{key}' should be text"
                    raise TypeError(msg)
                values[name] = value
            else:
                values[name] = int(value) if key == "corner" else float(value)
        return cls(**values)

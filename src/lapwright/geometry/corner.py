"""`Corner`: one bend of a circuit as stations on its path; `CornerMark`: one named in a file."""

import math
from dataclasses import dataclass
from typing import Literal

from lapwright.errors import shown

Side = Literal["left", "right"]


@dataclass(frozen=True, slots=True)
class Corner:
    """
    One corner of a circuit.

    Attributes
    ----------
    order : int
        Number from the start/finish line, from 1.
    name : str
        What people call it; its number when nobody said.
    direction : {"left", "right"}
        The way it turns.
    entry_m, apex_m, exit_m : float
        Stations on the reference path, entry <= apex <= exit. The apex lies in
        [0, length); where the line is inside the corner the entry is negative or the
        exit beyond the length. [m]
    radius_m : float
        Smallest radius of the reference path in the corner, not of the line a car drove. [m]
    run_up_m : float or None
        How far before the entry cars usually slow for it, as saved; None where that is taken from
        each session's laps. [m]

    Raises
    ------
    ValueError
        If the number is less than 1, the name is no text, the direction neither left nor right,
        the stations do not follow each other, or the radius is not more than 0.

    Examples
    --------
    >>> import lapwright as lw
    >>> log = lw.read_log("sample_sessions/saturday_qualifying.gpx")
    >>> corner = lw.discover_track(log).track.corners[0]
    >>> corner.order, corner.direction, corner.entry_m < corner.apex_m < corner.exit_m
    (1, 'right', True)
    """

    order: int
    name: str
    direction: Side
    entry_m: float
    apex_m: float
    exit_m: float
    radius_m: float
    run_up_m: float | None = None

    def __post_init__(self) -> None:
        if self.order < 1:
            msg = f"corners are numbered from 1, not {self.order}"
            raise ValueError(msg)
        name: object = self.name
        if not isinstance(name, str):
            msg = f"a corner's name is text, not {shown(name)}; put it in quotes"
            raise ValueError(msg)
        if self.direction not in ("left", "right"):
            msg = f"a corner turns 'left' or 'right', not {shown(self.direction)}"
            raise ValueError(msg)
        for field in ("entry_m", "apex_m", "exit_m", "radius_m"):
            object.__setattr__(self, field, float(getattr(self, field)))
        if not (self.entry_m <= self.apex_m <= self.exit_m and math.isfinite(self.exit_m)):
            msg = (
                f"corner {shown(self.name)}: entry {self.entry_m}, apex {self.apex_m} and exit "
                f"{self.exit_m} m must follow each other"
            )
            raise ValueError(msg)
        if self.run_up_m is not None and not 0.0 <= self.run_up_m < math.inf:
            msg = f"corner {shown(self.name)}: run_up_m must be 0 m or more, not {self.run_up_m}"
            raise ValueError(msg)
        if not self.radius_m > 0.0:
            msg = (
                f"corner {shown(self.name)}: the radius must be more than 0 m, not {self.radius_m}"
            )
            raise ValueError(msg)

    @property
    def given_name(self) -> str:
        """
        What people call it; empty where it has nothing but its number.

        Examples
        --------
        >>> import lapwright as lw
        >>> lw.Corner(4, "4", "left", 100.0, 120.0, 150.0, 30.0).given_name
        ''
        """
        return "" if self.name == str(self.order) else self.name


# How far from the ends of a corner its mark may be. [m]
NEAR_M = 40.0
# A point farther beside the path is another place: half of the widest track, its verge and a
# careless click on a map. [m]
FARTHEST_BESIDE_M = 60.0


@dataclass(frozen=True, slots=True)
class CornerMark:
    """
    A corner of which only the apex and the name are known, as in a file written by hand.

    Attributes
    ----------
    order : int
        Number from the start/finish line, from 1.
    name : str
        What people call it.
    apex_m : tuple of (float, float)
        A point near the apex: east, north. [m]
    near_m : float
        It is the mark of a corner that ends so far before it or begins so far after it: the ends
        of a corner that is found are not known by who marks it. [m]
    """

    order: int
    name: str
    apex_m: tuple[float, float]
    near_m: float = NEAR_M

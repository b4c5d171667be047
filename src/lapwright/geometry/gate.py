"""`Gate`: a finite line that a car crosses, such as the start/finish line or a sector line."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapwright.arguments import checked

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Gate:
    """
    A finite line a car crosses: its ends as the driver sees them, east and north in metres.

    Attributes
    ----------
    left_m, right_m : tuple of (float, float)
        Left and right end as seen by a driver who crosses in the circuit's
        direction: east, north. [m]

    Raises
    ------
    ValueError
        If an end is not finite, or both are the same point.

    Examples
    --------
    >>> import lapwright as lw
    >>> gate = lw.Gate((0.0, 6.0), (0.0, -6.0))  # driven over eastwards
    >>> gate.width_m, gate.centre_m
    (12.0, (0.0, 0.0))
    """

    left_m: tuple[float, float]
    right_m: tuple[float, float]

    def __post_init__(self) -> None:
        for side in ("left_m", "right_m"):
            east, north = getattr(self, side)
            object.__setattr__(self, side, (float(east), float(north)))
        if not all(math.isfinite(value) for value in (*self.left_m, *self.right_m)):
            msg = f"an end of the gate is not finite: {self.left_m} m, {self.right_m} m"
            raise ValueError(msg)
        if self.left_m == self.right_m:
            msg = f"both ends of the gate are at {self.left_m} m; give two different points"
            raise ValueError(msg)

    @classmethod
    @checked
    def across(cls, centre_m: tuple[float, float], heading_rad: float, width_m: float) -> "Gate":
        """
        Return the gate square to a driving direction.

        Parameters
        ----------
        centre_m : tuple of (float, float)
            The middle of the gate: east, north. [m]
        heading_rad : float
            Driving direction, anticlockwise from east. [rad]
        width_m : float
            Distance between the ends, more than 0. [m]

        Returns
        -------
        Gate

        Raises
        ------
        ValueError
            If the width is not a positive number.

        Examples
        --------
        >>> lw.Gate.across((0.0, 0.0), heading_rad=0.0, width_m=12.0).left_m
        (0.0, 6.0)
        """
        if not 0.0 < width_m < math.inf:
            msg = f"the width of a gate must be more than 0 m, not {width_m} m"
            raise ValueError(msg)
        east, north = centre_m
        left_east = -math.sin(heading_rad) * width_m / 2.0
        left_north = math.cos(heading_rad) * width_m / 2.0
        return cls((east + left_east, north + left_north), (east - left_east, north - left_north))

    @property
    def width_m(self) -> float:
        """
        Distance between the ends [m].

        Examples
        --------
        >>> lw.Gate((0.0, 6.0), (0.0, -6.0)).width_m
        12.0
        """
        return math.hypot(self.right_m[0] - self.left_m[0], self.right_m[1] - self.left_m[1])

    @property
    def centre_m(self) -> tuple[float, float]:
        """
        The point halfway between the ends: east, north [m].

        Examples
        --------
        >>> lw.Gate((0.0, 6.0), (0.0, -4.0)).centre_m
        (0.0, 1.0)
        """
        return (
            (self.left_m[0] + self.right_m[0]) / 2.0,
            (self.left_m[1] + self.right_m[1]) / 2.0,
        )

    @property
    def along(self) -> tuple[float, float]:
        """
        Unit vector from the left to the right end: east, north.

        Examples
        --------
        >>> lw.Gate((0.0, 6.0), (0.0, -6.0)).along
        (0.0, -1.0)
        """
        width = self.width_m
        return (
            (self.right_m[0] - self.left_m[0]) / width,
            (self.right_m[1] - self.left_m[1]) / width,
        )

    @property
    def forward(self) -> tuple[float, float]:
        """
        Unit vector square to the gate in driving direction: east, north.

        Examples
        --------
        >>> lw.Gate((0.0, 6.0), (0.0, -6.0)).forward
        (1.0, 0.0)
        """
        along_east, along_north = self.along
        return (-along_north, along_east)

    @property
    def heading_rad(self) -> float:
        """
        Driving direction square to the gate, anticlockwise from east, in (-pi, pi] [rad].

        Examples
        --------
        >>> lw.Gate((0.0, 6.0), (0.0, -6.0)).heading_rad
        0.0
        """
        return math.atan2(self.forward[1], self.forward[0])

    @checked
    def signed_distance(self, east_m: ArrayLike, north_m: ArrayLike) -> Floats:
        """
        Distance from the endless straight line through the gate.

        Parameters
        ----------
        east_m, north_m : array_like, shape (n,)
            Positions. [m]

        Returns
        -------
        distance_m : ndarray, shape (n,)
            Positive beyond the gate in driving direction. [m]

        Examples
        --------
        >>> lw.Gate((0.0, 6.0), (0.0, -6.0)).signed_distance([-2.0, 3.0], [0.0, 0.0])
        array([-2.,  3.])
        """
        east, north = self._from_centre(east_m, north_m)
        return east * self.forward[0] + north * self.forward[1]

    @checked
    def offset(self, east_m: ArrayLike, north_m: ArrayLike) -> Floats:
        """
        Distance to the left of the gate's middle, measured along the gate.

        Parameters
        ----------
        east_m, north_m : array_like, shape (n,)
            Positions. [m]

        Returns
        -------
        offset_m : ndarray, shape (n,)
            Positive to the left; +width/2 at the left end. [m]

        Examples
        --------
        >>> lw.Gate((0.0, 6.0), (0.0, -6.0)).offset([1.0, 1.0], [2.0, -5.0])
        array([ 2., -5.])
        """
        east, north = self._from_centre(east_m, north_m)
        return -(east * self.along[0] + north * self.along[1])

    def reversed(self) -> "Gate":
        """
        Return the same line, crossed the other way.

        Returns
        -------
        Gate

        Examples
        --------
        >>> lw.Gate((0.0, 6.0), (0.0, -6.0)).reversed().left_m
        (0.0, -6.0)
        """
        return Gate(self.right_m, self.left_m)

    @checked
    def widened(self, by_m: float) -> "Gate":
        """
        Return the gate with each end moved outwards [m].

        Parameters
        ----------
        by_m : float
            [m]

        Returns
        -------
        Gate

        Raises
        ------
        ValueError
            If both ends would meet.

        Examples
        --------
        >>> lw.Gate((0.0, 6.0), (0.0, -6.0)).widened(2.0).width_m
        16.0
        """
        east, north = self.along
        return Gate(
            (self.left_m[0] - by_m * east, self.left_m[1] - by_m * north),
            (self.right_m[0] + by_m * east, self.right_m[1] + by_m * north),
        )

    def _from_centre(self, east_m: ArrayLike, north_m: ArrayLike) -> tuple[Floats, Floats]:
        """Coordinates relative to the middle, so that a far origin costs no digits."""
        centre_east, centre_north = self.centre_m
        return (
            np.asarray(east_m, dtype=np.float64) - centre_east,
            np.asarray(north_m, dtype=np.float64) - centre_north,
        )

"""
A driver: how much they vary, and which habits are planted in them.

All of it is known exactly afterwards: `TrueRun.planted` lists which habit acted in
which lap and corner.  Corners are numbered as in `Circuit.bends`.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BrakeEarly:
    """
    Brake `metres` early for a corner in a share of the laps.

    As hard as ever, and then roll into the corner at its slowest speed; or, `gently`, as
    much more gently as the longer way allows, which costs far less time.
    """

    corner: int
    metres: float = 12.0
    share: float = 2 / 3
    gently: bool = False


@dataclass(frozen=True, slots=True)
class SlowMinimum:
    """Be `speed_mps` slow at the slowest point of a corner in a share of the laps."""

    corner: int
    speed_mps: float = 4.0 / 3.6
    share: float = 2 / 3


@dataclass(frozen=True, slots=True)
class LateThrottle:
    """Wait `metres` longer before accelerating out of a corner in a share of the laps."""

    corner: int
    metres: float = 15.0
    share: float = 2 / 3


@dataclass(frozen=True, slots=True)
class LineChange:
    """Drive `offset_m` farther left in one corner from the given timed lap on (1 = first)."""

    corner: int
    offset_m: float
    from_timed_lap: int


@dataclass(frozen=True, slots=True)
class LineMigration:
    """Move the whole line to the left by `offset_m`, evenly over the session."""

    offset_m: float


Habit = BrakeEarly | SlowMinimum | LateThrottle | LineChange | LineMigration


@dataclass(frozen=True, slots=True)
class Driver:
    """
    How a driver varies from lap to lap.

    Attributes
    ----------
    name : str
    line_sd_m, line_length_m : float
        Spread of the line about the usual one, and the distance over which its
        autocorrelation falls to 1/e. [m]
    wide_moments_per_lap : float
        Mean number of larger deviations a lap (0.5 to 2 m over some 100 m), which
        make the deviations heavy-tailed.
    pace : float
        Share of the car's speed that this driver reaches.
    corner_spread : float
        Relative spread of the speed in one corner from lap to lap.
    lap_spread : float
        Relative spread of the speed of whole laps.
    braking_sd_m, throttle_sd_m : float
        Scatter of the points where they brake and accelerate. [m]
    settling : float
        Relative loss of speed in the first timed lap; half of it in the next, and so on.
    habits : tuple
        Planted habits.
    line_bias_m : float
        Constant distance of this driver's line to the left of the usual one. [m]
    fade_per_lap : float
        Relative loss of speed from each timed lap of a stint to the next, as of worn tyres.
    """

    name: str = "driver"
    line_sd_m: float = 0.4
    line_length_m: float = 60.0
    wide_moments_per_lap: float = 0.5
    pace: float = 0.97
    corner_spread: float = 0.010
    lap_spread: float = 0.003
    braking_sd_m: float = 3.0
    throttle_sd_m: float = 3.0
    settling: float = 0.008
    habits: tuple[Habit, ...] = ()
    line_bias_m: float = 0.0
    fade_per_lap: float = 0.0


# A driver without any variation, for checks against closed forms.
STEADY = Driver("steady", 0.0, 60.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)

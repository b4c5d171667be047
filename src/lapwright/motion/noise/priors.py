"""
What is known of receivers and drivers before a log is seen: all priors of the noise, once.

Each is normal on the logarithm, and wide.  The estimate of the noise, the repeated line and the
Monte-Carlo that holds the error bars against the truth all read them here.

References
----------
.. [1] FAA, WAAS performance analysis report 10 (2004): 0.61 to 1.06 m horizontal, 95 %.
.. [2] "Sensors" 20 (2020) 6050: errors of stationary receivers are Gauss-Markov, not white.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Prior:
    """
    A normal distribution on the logarithm of a noise parameter.

    Attributes
    ----------
    centre : float
        In the parameter's own unit.
    log_sd : float
        Standard deviation of the logarithm: 0.7 means 'within a factor of two'.
    source : str
        Where it comes from.
    """

    centre: float
    log_sd: float
    source: str

    @property
    def log(self) -> tuple[float, float]:
        """Centre and standard deviation of the logarithm."""
        return math.log(self.centre), self.log_sd


PRIORS = {
    "white_m": Prior(
        0.4, 0.7, "data sheets of receiver modules: decimetres from fix to fix, per axis"
    ),
    # The centre moves with the white noise, see `drift_centre_m`.
    "drift_m": Prior(
        1.0, 0.6, "data sheets: 1.5 to 2 m circular error is 1.3 to 1.7 m an axis; augmented "
        "service 0.6 to 1.1 m, 95 % [1]",
    ),
    "drift_tau_s": Prior(200.0, 0.8, "10 to 2700 s are used as bounds in aviation; see also [2]"),
    "speed_mps": Prior(0.06, 0.7, "data sheets: Doppler speed good to 0.05 m/s"),
    "slow_speed_mps": Prior(0.02, 1.0, "centimetres a second; common practice, no source"),
    "slow_speed_tau_s": Prior(20.0, 0.7, "common practice, no source"),
    # White noise of the positions over seconds on top of that from fix to fix, as a ratio to it:
    # receivers filter, multipath lasts.
    "lasting_ratio": Prior(0.3, 1.2, "from nothing to three times; common practice, no source"),
    # An error that lasts seconds, as the laps alone show it: multipath, a phone's smoothing.
    "coloured_m": Prior(0.3, 1.2, "common practice, no source"),
    "coloured_tau_s": Prior(4.0, 0.7, "common practice, no source"),
    # How far a driver's line lies from lap to lap off the usual one, over what length that lasts,
    # and how far the line wanders off for good from one lap to the next.
    "driver_m": Prior(0.4, 0.6, "common practice, no source"),
    "driver_length_m": Prior(60.0, 0.5, "common practice, no source"),
    "driver_wander_m": Prior(0.04, 1.0, "common practice, no source"),
}  # fmt: skip
# Where a receiver has an error that lasts seconds, its size: a phone is good to some 5 m under
# open sky (GPS.gov, "GPS accuracy", from memory), most of it slow.
COLOURED_IF_ANY = Prior(1.0, 0.8, "GPS.gov, from memory")

# A receiver of metre class has a third of a metre of white noise from fix to fix.
_WHITE_OF_METRE_CLASS_M = 1.0 / 3.0


def drift_centre_m(white_m: float) -> float:
    """
    Centre of the prior of the drift, by the class of receiver that its white noise shows.

    Parameters
    ----------
    white_m : float
        White noise of a fix. [m]

    Returns
    -------
    float
        The geometric mean of what metre class has and of what the white noise has in proportion: a
        receiver with centimetres of white noise is of another class, but not in full. [m]

    Examples
    --------
    >>> round(drift_centre_m(1.0 / 3.0), 3), round(drift_centre_m(0.01), 3)
    (1.0, 0.173)
    """
    return PRIORS["drift_m"].centre * math.sqrt(white_m / _WHITE_OF_METRE_CLASS_M)

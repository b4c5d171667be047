"""
How the car moved: a state-space smoother over a whole session, with its covariance.

This room knows nothing of tracks or laps.  What others know of them reaches it as generic rows:
`RepeatedMeasures` (places passed more than once) for the noise, `PseudoMeasurements` for the motion
itself.
"""

from lapwright.motion.clock_rate import clock_cov
from lapwright.motion.estimate import estimate_motion
from lapwright.motion.kalman.model import NoiseParameters
from lapwright.motion.kalman.pseudo_measurements import PseudoMeasurements
from lapwright.motion.motion import Motion
from lapwright.motion.motion_state import MotionState
from lapwright.motion.noise.restricted_likelihood import RepeatedMeasures
from lapwright.motion.posterior import Posterior

__all__ = [
    "Motion",
    "MotionState",
    "NoiseParameters",
    "Posterior",
    "PseudoMeasurements",
    "RepeatedMeasures",
    "clock_cov",
    "estimate_motion",
]

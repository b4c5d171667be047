"""
What the place of a point is unsure by that is found where the acceleration passes a level.

Braking and throttle begin, and the car is slowest, where the longitudinal acceleration a passes
a level.  Let e_p and e_a be what has to be added to the estimated place and acceleration to have
the true ones, v the speed and j the slope of a there.  To first order the true acceleration passes
the level later by ``-e_a / j``, during which the car goes on at v:

    place missed = e_p - (v / j) e_a

So a braking point (j < 0) lies farther on where the car truly accelerated more than estimated, and
a throttle point (j > 0) farther back.  Place and acceleration at one moment are correlated in the
posterior; as one row of weights they are added with their sign and not as if independent.
"""

import numpy as np
import numpy.typing as npt

from lapwright.motion import Motion

Floats = npt.NDArray[np.float64]

# Half of the span over which the slope of the acceleration is taken, and the least slope by which
# a place is told from its neighbours.
AROUND_S, MIN_JERK_MPS3 = 0.1, 1.0
# At walking pace the direction of travel is anybody's guess, but the error bar must stay finite.
_MIN_SPEED_MPS = 0.3


def level_place_weights(motion: Motion, moment_s: Floats, slope_sign: float) -> Floats:
    """
    Functionals of the motion that give the error of a place along the way.

    Parameters
    ----------
    motion : Motion
    moment_s : ndarray, shape (k,)
        When the longitudinal acceleration passed the level. [s]
    slope_sign : {-1, 1}
        -1 where it passed it falling, 1 rising.

    Returns
    -------
    ndarray, shape (k, 6)
        For `lapwright.motion.Motion.posterior`. [m]
    """
    state = motion.at(moment_s)
    early, late = (
        np.clip(moment_s + d, motion.start_s, motion.end_s) for d in (-AROUND_S, AROUND_S)
    )
    change = motion.at(late).accel_long_mps2 - motion.at(early).accel_long_mps2
    jerk = np.maximum(slope_sign * change / (late - early), MIN_JERK_MPS3)
    later_m = -slope_sign * state.speed_mps / jerk
    along = state.direction
    across = np.stack([-along[:, 1], along[:, 0]], axis=-1)
    # a = acceleration . direction, and the direction is that of the velocity: its error across
    # the way turns some of the lateral acceleration into longitudinal.
    turned = state.accel_lat_mps2 / np.maximum(state.speed_mps, _MIN_SPEED_MPS)
    weights = np.empty((len(moment_s), 6))
    weights[:, 0:2] = along
    weights[:, 2:4] = across * (turned * later_m)[:, None]
    weights[:, 4:6] = along * later_m[:, None]
    return weights

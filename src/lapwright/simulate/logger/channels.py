"""Engine and driver channels that fit the motion: rpm, throttle, brake, steering."""

import numpy as np
import numpy.typing as npt
import pandas as pd

from lapwright.simulate.truth import TrueRun

Floats = npt.NDArray[np.float64]

IDLE_RPM = 950.0
BAR_PER_MPS2 = 5.5
STEERING_RATIO = 14.0


def engine_channels(run: TrueRun, time_s: Floats, rng: np.random.Generator) -> pd.DataFrame:
    """
    Channels at given times.

    Parameters
    ----------
    run : TrueRun
    time_s : ndarray, shape (n,)
    rng : Generator
        For the small noise of the sensors.

    Returns
    -------
    channels : DataFrame
        ``rpm``, ``throttle_pct`` (0 to 100), ``brake_bar``, ``steering_deg`` (of the
        wheel, positive to the left).
    """
    car, count = run.car, len(time_s)
    speed = run.speed(time_s)
    along, across = run.along_across(time_s)
    drag = car.drag_per_m * speed**2
    most = np.minimum(car.traction_mps2, car.power_wpkg / np.maximum(speed, 1.0))
    throttle = np.clip((along + drag) / np.maximum(most, 0.1), 0.0, 1.0) * 100
    throttle[(speed < 0.3) | (along < -0.8)] = 0.0
    brake = np.where(along + drag < -0.6, -(along + drag) * BAR_PER_MPS2, 0.0)
    brake[speed < 0.3] = 8.0
    gears = np.asarray(car.gears_mps_per_1000rpm)
    # The lowest gear that stays under nine tenths of the red line.
    fits = speed[:, None] / gears[None, :] * 1000 < 0.9 * car.redline_rpm
    gear = np.where(fits.any(axis=1), np.argmax(fits, axis=1), len(gears) - 1)
    rpm = np.maximum(speed / gears[gear] * 1000, IDLE_RPM)
    bend = across / np.maximum(speed, 3.0) ** 2
    steering = np.degrees(np.arctan(car.wheelbase_m * bend)) * STEERING_RATIO
    return pd.DataFrame(
        {
            "rpm": np.round(rpm + rng.normal(0, 12, count)),
            "throttle_pct": np.round(np.clip(throttle + rng.normal(0, 0.4, count), 0, 100), 1),
            "brake_bar": np.round(np.clip(brake + rng.normal(0, 0.15, count), 0, None), 1),
            "steering_deg": np.round(steering + rng.normal(0, 0.6, count), 1),
        }
    )

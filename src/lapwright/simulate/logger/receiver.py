"""`Receiver`: the errors and habits of a receiver and its logger, and kinds of noise for tests."""

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Receiver:
    """
    Errors and habits of a receiver and its logger; all errors are per horizontal axis.

    Attributes
    ----------
    rate_hz : float
    white_m : float
        White position error, sd. [m]
    white_kind : {"normal", "student", "coloured"}
        ``"student"``: heavy-tailed, `white_freedom` degrees of freedom.  ``"coloured"``:
        neighbours correlated by `white_share`.
    drift_m, drift_tau_s : float or (east, north)
        Gauss-Markov position error, sd and correlation time. [m, s]
    coloured_m, coloured_tau_s : float
        A further Gauss-Markov position error that lasts seconds, as multipath and the
        smoothing of a phone leave it: sd and correlation time. [m, s]
    drift_steps, drift_step_m : int, float
        How often a session the drift jumps (satellites change) and the sd of a jump;
        it dies away with the drift's own time constant. [m]
    filter_s : float
        Time constant of the receiver's own position filter; 0 for none. [s]
    speed_filter_s : float
        Time constant of the first-order low-pass the logged velocity went through. [s]
    degree_decimals : int or None
        Positions are rounded to so many decimals of a degree.
    velocity : {"none", "speed", "both"}
        Whether speed, or speed and course, are logged.
    velocity_source : {"doppler", "positions"}
        ``"positions"``: differenced from the positions as logged, with whatever error these
        have; nothing but `speed_filter_s` is done to it.
    doppler_mps, slow_mps, slow_tau_s : float
        White and Gauss-Markov error of the velocity. [m/s, m/s, s]
    latency_s : float
        The velocity logged at t is that of t - latency. [s]
    jitter_s : float
        Scatter of the instants of the fixes (stamped truly). [s]
    stamp_error_s, stamp_step_s : float
        Scatter of the stamps about the instants, and their rounding. [s]
    clock_ppm : float or (least, most)
        By how much the clock of the stamps is fast; of two numbers a size between them is
        drawn, of either sign.  Where it is not zero the log counts on the logger's own clock
        (quartz), else on the receiver's, which the satellites keep right.  [1e-6]
    missing : float
        Share of fixes missing at random.
    dropouts : (count, shortest, longest)
        Gaps at random places. [s]
    gaps : tuple of (begin, length)
        Gaps at given times of the run. [s]
    spikes : int
        Isolated position errors of 20 to 80 m.
    frozen : (count, shortest, longest)
        Stretches that repeat the last position while moving. [s]
    duplicates, disorder : int
        Lines written twice, and lines swapped with the next (in files only).
    no_fix_s : float
        Time from the begin of the run to the first fix. [s]
    accuracy_scale : float or None
        The receiver's own accuracy column is the true sd times this; None for no column.
    """

    rate_hz: float = 10.0
    white_m: float = 0.3
    white_kind: str = "normal"
    white_freedom: float = 3.0
    white_share: float = 0.8
    drift_m: float | tuple[float, float] = 1.0
    drift_tau_s: float | tuple[float, float] = 200.0
    coloured_m: float = 0.0
    coloured_tau_s: float = 4.0
    drift_steps: int = 0
    drift_step_m: float = 1.5
    filter_s: float = 0.0
    speed_filter_s: float = 0.0
    degree_decimals: int | None = None
    velocity: str = "both"
    velocity_source: str = "doppler"
    doppler_mps: float = 0.05
    slow_mps: float = 0.02
    slow_tau_s: float = 20.0
    latency_s: float = 0.0
    jitter_s: float = 0.0
    stamp_error_s: float = 0.0
    stamp_step_s: float = 0.0
    clock_ppm: float | tuple[float, float] = 0.0
    missing: float = 0.0
    dropouts: tuple[int, float, float] = (0, 2.0, 5.0)
    gaps: tuple[tuple[float, float], ...] = ()
    spikes: int = 0
    frozen: tuple[int, float, float] = (0, 1.0, 2.5)
    duplicates: int = 0
    disorder: int = 0
    no_fix_s: float = 0.0
    accuracy_scale: float | None = None

    def __post_init__(self) -> None:
        for value, allowed in (
            (self.velocity, ("none", "speed", "both")),
            (self.velocity_source, ("doppler", "positions")),
            (self.white_kind, ("normal", "student", "coloured")),
        ):
            if value not in allowed:
                msg = f"{value!r} is not one of {allowed}"
                raise ValueError(msg)
        if self.rate_hz <= 0:
            msg = f"a receiver needs a positive rate, not {self.rate_hz} Hz"
            raise ValueError(msg)


ORDINARY = Receiver()

PHONE = Receiver(
    rate_hz=1.0,
    white_m=0.2,
    drift_m=2.0,
    drift_tau_s=150.0,
    coloured_m=2.5,
    coloured_tau_s=4.0,
    speed_filter_s=1.0,
    velocity="speed",
    doppler_mps=0.1,
    slow_mps=0.05,
    jitter_s=0.1,
    stamp_error_s=0.02,
)

# Kinds of noise for tests of error bars: the first six are of the kind a smoother with
# white noise, Gauss-Markov drift and a slow velocity error has, the others are not.
NOISE_KINDS = {
    "positions only": replace(ORDINARY, velocity="none"),
    "speed only": replace(ORDINARY, velocity="speed"),
    "speed and course": ORDINARY,
    "white velocity": replace(ORDINARY, slow_mps=0.0),
    "wandering velocity": replace(ORDINARY, slow_mps=0.06, slow_tau_s=15.0),
    "short drift": replace(ORDINARY, white_m=0.8, drift_m=2.0, drift_tau_s=60.0),
    "heavy tails": replace(ORDINARY, white_kind="student"),
    "drift steps": replace(ORDINARY, drift_steps=6),
    "quantised": replace(ORDINARY, white_m=0.05, degree_decimals=5),
    "coloured": replace(ORDINARY, white_kind="coloured"),
    "uneven axes": replace(ORDINARY, drift_m=(0.6, 1.4), drift_tau_s=(400.0, 80.0)),
    "filtered": replace(ORDINARY, filter_s=0.25),
    # A phone: once a second, at uneven times, errors that last seconds, a speed without course.
    "phone": PHONE,
    "phone, speed from positions": replace(PHONE, velocity_source="positions"),
    "phone, positions only": replace(PHONE, velocity="none"),
    "quartz clock": replace(ORDINARY, clock_ppm=(20.0, 60.0)),
}

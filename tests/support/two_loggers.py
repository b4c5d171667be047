"""One drive with two loggers on board, each with its own errors and clock, and the true offset."""

from dataclasses import dataclass, replace

from lapwright import simulate as sim
from lapwright.ingest.log import Log


@dataclass(frozen=True)
class TwoLoggers:
    """Two recordings of one drive; the other's clock is fast by so many ppm."""

    one: sim.Recording
    other: sim.Recording
    ppm: float

    @property
    def logs(self) -> tuple[Log, Log]:
        """Both as logs, each on its own time axis."""
        return self.one.log(), self.other.log()

    def true_offset_s(self, at_s: float) -> float:
        """Time of the other less time of the one, each from its first fix, at a time of the one."""
        run_s = at_s + self.one.zero_s
        return run_s * (1.0 + 1e-6 * self.ppm) - self.other.zero_s - at_s


def drive(seed: int = 1, laps: int = 3, car: sim.Car = sim.LIGHT_CAR) -> sim.TrueRun:
    """Some laps of Wren Hollow."""
    return sim.drive(sim.invented("wren_hollow"), car, sim.Driver(), sim.Plan((laps,)), seed)


def two_loggers(
    run: sim.TrueRun, rate_hz: float = 10.0, ppm: float = 50.0, late_s: float = 121.7,
    kind: str = "speed and course", sensors: bool = False,
) -> TwoLoggers:  # fmt: skip
    """Record a drive twice: at 10 Hz, and by another logger that was switched on later."""
    one = sim.receive(run, replace(sim.ORDINARY, no_fix_s=3.0), 101)
    receiver = replace(sim.NOISE_KINDS[kind], rate_hz=rate_hz, no_fix_s=late_s, clock_ppm=ppm)
    found = sim.CarSensors() if sensors else None
    other = sim.receive(run, receiver, 202, engine=sensors, sensors=found)
    return TwoLoggers(one, other, ppm)

"""
Do the error bars of the live delta and of live lap times hold, over receivers of all sorts?

    .venv/bin/python .ci/live_bars.py --sessions 24 --first-seed 100

Simulated sessions with exact truth, receivers drawn from the priors as in `.ci/error_bars.py`,
fixes given one by one.  Truth and estimate are held against each other at the normals of the same
path, every 20 m, at the fix's own moment.  Beside it the same of the log read afterwards, with the
line that the driver repeats.  Set OPENBLAS_NUM_THREADS=1, and LAPWRIGHT_CACHE=off.
"""

import argparse

import numpy as np
import numpy.typing as npt
from error_bars import DRIVES, drawn, drive

from lapwright import simulate as sim
from lapwright.live_session.events import Event, LapGoing
from lapwright.live_session.learning import Setting
from lapwright.live_session.receiving.fixes import InOrder, fixes_of
from lapwright.live_session.running import Running
from lapwright.session import Session

Floats = npt.NDArray[np.float64]
# At the line itself both are zero, and there is nothing to see.
_EVERY_M, _FROM_LINE_M, _GRID_S = 20.0, 30.0, 0.02


class TrueLaps:
    """When the car was truly where, on each lap of a session."""

    def __init__(self, run: sim.TrueRun, zero_s: float, session: Session) -> None:
        self.length_m = session.track.length_m
        self._at: dict[int, tuple[Floats, Floats]] = {}
        self.time_s: dict[int, float] = {}
        true = run.laps.assign(start_s=run.laps["start_s"] - zero_s).dropna(subset=["time_s"])
        timed = session.laps[session.laps["kind"] == "timed"]
        for lap, start_s in zip(timed["lap"], timed["start_s"], strict=True):
            mine = true.loc[(true["start_s"] - start_s).abs().idxmin()]
            if abs(float(mine["start_s"]) - start_s) > 1.0:
                continue
            since = np.arange(0.0, float(mine["time_s"]), _GRID_S)
            points = run.position(since + float(mine["start_s"]) + zero_s)
            place = session.track.plane.to_metres(*run.circuit.to_degrees(points).T)
            station = np.unwrap(session.path.project(*place)[0], period=self.length_m)
            station -= self.length_m * np.round(station[0] / self.length_m)
            self._at[int(lap)] = station, since
            self.time_s[int(lap)] = float(mine["time_s"])

    def delta(self, lap: int, other: int, station_m: npt.ArrayLike) -> Floats:
        """Time lost to another lap at stations."""
        one, two = (np.interp(station_m, *self._at[k]) for k in (lap, other))
        return np.asarray(one - two)

    def inside(self, station_m: Floats) -> npt.NDArray[np.bool_]:
        """Which stations are far enough from the line."""
        return (station_m > _FROM_LINE_M) & (station_m < self.length_m - _FROM_LINE_M)


def followed(session: Session) -> tuple[Running, list[Event]]:
    """Follow a session fix by fix, knowing nothing of its receiver."""
    running, order = Running(Setting(session.shared_track), at_once=True), InOrder()
    events: list[Event] = []
    for fix in fixes_of(session.log):
        for one, again in order.take(fix):
            events += running.take(one, again=again)
    return running, events


def live_deltas(events: list[Event], true: TrueLaps) -> Floats:
    """Errors of the deltas shown, in units of their bars."""
    out, last = [], (-1, -1.0)
    for event in events:
        if not isinstance(event, LapGoing) or np.isnan(event.delta_s):
            continue
        place = (event.lap, event.station_m // _EVERY_M)
        other = int(event.reference.split()[1].strip(","))
        known = event.lap in true.time_s and other in true.time_s
        if place == last or not known or not true.inside(np.array(event.station_m)):
            continue
        last = place
        error = event.delta_s - float(true.delta(event.lap, other, event.station_m))
        out.append(error / max(event.delta_sd_s, 1e-3))
    return np.array(out)


def deltas_afterwards(session: Session, true: TrueLaps) -> Floats:
    """The same of the log read whole, against its best lap."""
    out, best = [np.zeros(0)], session.best_lap
    for lap in true.time_s:
        if best not in true.time_s or lap == best:
            continue
        delta = session.compare(lap, best).delta
        delta = delta[true.inside(delta["station_m"].to_numpy())].iloc[:: int(_EVERY_M)]
        error = delta["delta_s"] - true.delta(lap, best, delta["station_m"])
        out.append((error / delta["delta_sd_s"].clip(lower=1e-3)).to_numpy())
    return np.concatenate(out)


def shares(values: Floats) -> str:
    """How many are within one bar, and within 1.96."""
    if not len(values):
        return "-"
    return "/".join(f"{100.0 * np.mean(np.abs(values) < k):.0f}" for k in (1.0, 1.96))


def main() -> None:
    """Follow some sessions, and print a line for each."""
    parser = argparse.ArgumentParser(description=__doc__.strip().splitlines()[0])
    parser.add_argument("--sessions", type=int, default=8)
    parser.add_argument("--first-seed", type=int, default=0)
    options = parser.parse_args()
    every: dict[str, list[Floats]] = {"live delta": [], "afterwards": [], "live lap times": []}
    for seed in range(options.first_seed, options.first_seed + options.sessions):
        run, track = drive(seed % len(DRIVES))
        receiver = drawn(seed)
        recording = sim.receive(run, receiver, seed=seed)
        session = Session(recording.log(), track)
        true = TrueLaps(run, recording.zero_s, session)
        running, events = followed(session)
        laps = [one for one in running.laps if one.lap in true.time_s and np.isfinite(one.time_s)]
        found = {
            "live delta": live_deltas(events, true),
            "afterwards": deltas_afterwards(session, true),
            "live lap times": np.array(
                [(k.time_s - true.time_s[k.lap]) / k.time_sd_s for k in laps]
            ),
        }
        what = f"white {receiver.white_m:.2f} m, drift {receiver.drift_m:.2f} m"
        said = ", ".join(f"{name} {shares(values)}" for name, values in found.items())
        print(f"{seed}: {what}: {said}", flush=True)
        for name, values in found.items():
            every[name].append(values)
    for name, parts in every.items():
        values = np.concatenate(parts)
        print(f"{name}: {shares(values)} % within 1 and 1.96 bars, n {len(values)}")


if __name__ == "__main__":
    main()

"""
Does `lapwright live` say what comes out afterwards, quickly, and in little memory?

    .venv/bin/python .ci/live.py                       # the sample weekend, against its truth
    .venv/bin/python .ci/live.py FOLDER p02 p04 p05    # sessions/ and truth/ of practice sessions
    .venv/bin/python .ci/live.py --latency 60          # 25 fixes a second over TCP, in real time
    .venv/bin/python .ci/live.py --memory 3            # hours at ten fixes a second

One process, one core: set OPENBLAS_NUM_THREADS=1.  LAPWRIGHT_CACHE=off leaves the cache alone.
"""

import argparse
import json
import resource
import socket
import tempfile
import threading
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

import lapwright as lw
from lapwright.live_session.events import Event, LapGoing, LapTimed
from lapwright.live_session.learning import Setting
from lapwright.live_session.live import live
from lapwright.live_session.receiving.fixes import Fix, InOrder, fixes_of
from lapwright.live_session.running import Running
from lapwright.session import Session

SAMPLES = Path("sample_sessions")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[1])
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("sessions", nargs="*")
    parser.add_argument("--noise-from-itself", action="store_true", help="as --noise-from would")
    parser.add_argument("--alone", action="store_true", help="afterwards too without the line")
    parser.add_argument("--latency", type=float, metavar="SECONDS")
    parser.add_argument("--memory", type=float, metavar="HOURS")
    options = parser.parse_args()
    if options.latency:
        latency(options.latency)
    elif options.memory:
        memory(options.memory)
    else:
        worlds_of = worlds(options.folder, options.sessions, repeat_line=not options.alone)
        accuracy(worlds_of, carried=options.noise_from_itself)


# ---------------------------------------------------------------------------- against the truth


World = tuple[str, Session, dict[str, Any]]


def accuracy(given: list[World], *, carried: bool) -> None:
    print("live - truth in units of its bar, live - afterwards in ms")
    every: dict[str, list[np.ndarray]] = {}
    for name, session, truth in given:
        setting = Setting(session.shared_track)
        if carried:
            from lapwright.live_session.forward.known_noise import carried_over

            setting = replace(setting, carried=carried_over(session.motion_without_road))
        running = Running(setting, at_once=True)
        order, events = InOrder(), []
        begun, count = time.process_time(), 0
        for fix in fixes_of(session.log):
            count += 1
            for one, again in order.take(fix):
                events += running.take(one, again=again)
        cpu = time.process_time() - begun
        share = 100.0 * cpu / session.log.duration_s
        print(f"{name}: {count} fixes, {1e3 * cpu / count:.2f} ms of CPU each, {share:.1f} %")
        for what, values in compared(running.laps, events, session, truth).items():
            every.setdefault(what, []).append(values)
            report(f"  {what}", values)
    print("together")
    for what, parts in every.items():
        report(f"  {what}", np.concatenate(parts))


def report(what: str, values: np.ndarray) -> None:
    if not len(values):
        return
    if "[ms]" in what:
        print(f"{what}: rms {np.sqrt(np.mean(values**2)):.1f}, most {np.abs(values).max():.1f}")
    else:
        within = [100.0 * np.mean(np.abs(values) < k) for k in (1.0, 1.96)]
        said = f"{within[0]:.0f} % within 1 bar, {within[1]:.0f} % within 1.96"
        print(f"{what}: {said}; n {len(values)}")


def compared(
    laps: list[LapTimed], events: list[Event], session: Session, truth: dict[str, Any]
) -> dict[str, np.ndarray]:
    """Lap times and deltas against truth and against the log read afterwards."""
    after = {int(r["lap"]): r for r in session.laps.to_dict("records") if r["kind"] == "timed"}
    true = true_laps(truth)
    pairs = paired({n: row["time_s"] for n, row in after.items()}, true)
    first = {}
    for event in events:
        if isinstance(event, LapTimed) and not event.refined and event.lap not in first:
            first[event.lap] = event
    out: dict[str, list[float]] = {k: [] for k in (
        "lap times [bars]", "lap times, first word [bars]", "lap times [ms] to afterwards",
        "to afterwards [5 ms or both bars]",
        "lap times [ms] to truth", "afterwards [ms] to truth",
    )}  # fmt: skip
    own = {}
    for lap in laps:
        if lap.kind != "timed" or lap.lap not in after or not np.isfinite(lap.time_s):
            continue
        index = pairs.get(lap.lap)
        if index is None:
            continue
        own[lap.lap] = index
        exact = true[index]
        out["lap times [bars]"].append((lap.time_s - exact) / lap.time_sd_s)
        if lap.lap in first:
            one = first[lap.lap]
            out["lap times, first word [bars]"].append((one.time_s - exact) / one.time_sd_s)
        out["lap times [ms] to afterwards"].append(1e3 * (lap.time_s - after[lap.lap]["time_s"]))
        allowed = max(0.005, float(np.hypot(lap.time_sd_s, after[lap.lap]["time_sd_s"])))
        out["to afterwards [5 ms or both bars]"].append(
            (lap.time_s - after[lap.lap]["time_s"]) / allowed
        )
        out["lap times [ms] to truth"].append(1e3 * (lap.time_s - exact))
        out["afterwards [ms] to truth"].append(1e3 * (after[lap.lap]["time_s"] - exact))
    done = {name: np.array(values) for name, values in out.items()}
    return done | {"delta [bars]": deltas(events, truth, own, session.track.length_m)}


def deltas(
    events: list[Event], truth: dict[str, Any], own: dict[int, int], length_m: float
) -> np.ndarray:
    """Deltas shown, at about every 20 m, in units of their bars."""
    shape = true_deltas(truth)
    out, last = [], (-1, -1.0)
    for event in events:
        if not isinstance(event, LapGoing) or np.isnan(event.delta_s):
            continue
        place = (event.lap, event.station_m // 20.0)
        other = int(event.reference.split()[1].strip(","))
        pair = own.get(event.lap), own.get(other)
        if place == last or pair[0] not in shape or pair[1] not in shape:
            continue
        last = place
        share = event.station_m / length_m
        one, two = (float(np.interp(share, *shape[k])) for k in pair if k is not None)
        out.append((event.delta_s - (one - two)) / max(event.delta_sd_s, 1e-3))
    return np.array(out)


def worlds(folder: Path | None, names: list[str], *, repeat_line: bool) -> list[World]:
    out = []
    if folder is None:
        for file in sorted((SAMPLES / "truth").glob("*.json")):
            log = next(f for f in SAMPLES.iterdir() if f.stem == file.stem and f.is_file())
            session = lw.open_session(
                log, track=SAMPLES / "wren_hollow.geojson", repeat_line=repeat_line
            )
            out.append((file.stem, session, json.loads(file.read_text())))
        return out
    for name in names:
        log = next(f for f in (folder / "sessions").glob(f"{name}.*") if f.suffix != ".json")
        lines = json.loads((folder / "sessions" / f"{name}.lines.json").read_text())
        with tempfile.TemporaryDirectory() as place:
            track = Path(place) / "track.geojson"
            track.write_text(json.dumps(track_file(lines)))
            session = lw.open_session(log, track=track, repeat_line=repeat_line)
        out.append((name, session, json.loads((folder / "truth" / f"{name}.json").read_text())))
    return out


def track_file(lines: dict[str, Any]) -> dict[str, Any]:
    features = [feature("start_finish", lines["start_finish"])]
    features += [feature("sector", s, order=i) for i, s in enumerate(lines["sectors"], start=1)]
    return {"type": "FeatureCollection", "name": "", "features": features}


def feature(role: str, ends: list[list[float]], **more: object) -> dict[str, Any]:
    at = [[lon, lat] for lat, lon in ends]
    shape = {"type": "LineString", "coordinates": at}
    return {"type": "Feature", "properties": {"role": role, **more}, "geometry": shape}


def true_laps(truth: dict[str, Any]) -> dict[int, float]:
    """Time of each true lap, by its index in the truth."""
    laps = truth["laps"]
    key = "lap_index" if "lap_index" in laps[0] else "lap"
    timed = [lap for lap in laps if lap["kind"] not in ("out", "in") and lap["time_s"] is not None]
    return {int(lap[key]): float(lap["time_s"]) for lap in timed}


def paired(after: dict[int, float], true: dict[int, float]) -> dict[int, int]:
    """True lap of each lap: in order, at the shift at which the times agree best."""
    mine, theirs = sorted(after), sorted(true)
    best: dict[int, int] = {}
    cost = np.inf
    for shift in range(-3, 4):
        both = {n: theirs[i + shift] for i, n in enumerate(mine) if 0 <= i + shift < len(theirs)}
        apart = [abs(after[n] - true[k]) for n, k in both.items()]
        off = sum(min(a, 1.0) for a in apart) + (len(mine) - len(both))
        if off < cost:
            best, cost = (
                {n: k for (n, k), a in zip(both.items(), apart, strict=True) if a < 0.3},
                off,
            )
    return best


def true_deltas(truth: dict[str, Any]) -> dict[int, tuple[np.ndarray, np.ndarray]]:
    """Of each true lap: share of the lap, and its delta to one and the same lap."""
    found = truth["deltas"]
    out = {}
    if isinstance(found, dict):
        at = np.array(found["station_m"])
        reference = int(found["reference"])
        rows = {int(k): np.array(v) for k, v in found["delta_s"].items()}
    else:
        at = np.array(found[0]["station_m"]) if found else np.zeros(1)
        reference = int(found[0]["ref_lap_index"]) if found else -1
        rows = {int(d["cmp_lap_index"]): np.array(d["delta_s"]) for d in found}
    for lap, delta in rows.items():
        out[lap] = (at / at[-1], delta)
    out[reference] = (at / max(at[-1], 1.0), np.zeros(len(at)))
    return out


# --------------------------------------------------------------------------------- how quickly


def latency(seconds: float) -> None:
    """Send 25 fixes a second over TCP on this machine; time from sending to the delta."""
    sentences = quick_sentences(25.0, seconds)
    sent: dict[float, float] = {}
    server = socket.create_server(("127.0.0.1", 0))

    def send() -> None:
        connection, _ = server.accept()
        begun = time.monotonic()
        for i, (moment, data) in enumerate(sentences):
            time.sleep(max(begun + i / 25.0 - time.monotonic(), 0.0))
            sent[round(moment, 2)] = time.monotonic()
            connection.sendall(data)
        connection.close()

    threading.Thread(target=send, daemon=True).start()
    took, last = [], sentences[-1][0]
    with tempfile.TemporaryDirectory() as place:
        address = f"tcp://127.0.0.1:{server.getsockname()[1]}"
        session = live(
            address, track=SAMPLES / "wren_hollow.geojson",
            reference=SAMPLES / "saturday_qualifying.gpx", record=Path(place) / "r.nmea",
        )  # fmt: skip
        begun = time.process_time(), time.monotonic()
        for event in session:
            if isinstance(event, LapGoing):
                took.append(1e3 * (time.monotonic() - sent[round(event.time_s % 86400, 2)]))
                if event.time_s % 86400 > last - 0.1:
                    break
        cpu, wall = time.process_time() - begun[0], time.monotonic() - begun[1]
        session.close()
    at = np.percentile(took, [50, 99, 100])
    print(f"{len(took)} fixes; sending to delta: median {at[0]:.1f} ms, 99 % {at[1]:.1f} ms, most "
          f"{at[2]:.1f} ms; {100 * cpu / wall:.1f} % of one core")  # fmt: skip


def quick_sentences(rate_hz: float, seconds: float) -> list[tuple[float, bytes]]:
    """NMEA of a sample log's motion at another rate, from out lap on."""
    session = lw.open_session(
        SAMPLES / "friday_test.csv", track=SAMPLES / "wren_hollow.geojson", repeat_line=False
    )
    motion, plane = session.motion, session.motion.plane
    start = float(session.laps.loc[session.laps["kind"] == "timed", "start_s"].iloc[0]) - 15.0
    time_s = start + np.arange(0.0, seconds, 1.0 / rate_hz)
    state = motion.at(time_s)
    lat, lon = plane.to_degrees(*state.position_m.T)
    course = np.degrees(np.arctan2(*state.velocity_mps.T)) % 360.0
    out = []
    for i in range(len(time_s)):
        moment = 36_000.0 + i / rate_hz
        out.append((moment, epoch(moment, lat[i], lon[i], state.speed_mps[i], course[i])))
    return out


def epoch(moment: float, lat: float, lon: float, speed: float, course: float) -> bytes:
    """RMC and GGA of one fix."""
    hms = f"{int(moment // 3600):02d}{int(moment % 3600 // 60):02d}{moment % 60:05.2f}"
    north, east = "N" if lat >= 0 else "S", "E" if lon >= 0 else "W"
    at = f"{packed(abs(lat), 2)},{north},{packed(abs(lon), 3)},{east}"
    rmc = f"GNRMC,{hms},A,{at},{speed / 0.514444:.3f},{course:.2f},060226,,,A"
    gga = f"GNGGA,{hms},{at},1,12,0.8,100.0,M,0.0,M,,"
    return b"".join(checked(s) for s in (rmc, gga))


def packed(degrees: float, width: int) -> str:
    whole = int(degrees)
    return f"{whole:0{width}d}{(degrees - whole) * 60.0:010.7f}"


def checked(sentence: str) -> bytes:
    value = 0
    for byte in sentence.encode():
        value ^= byte
    return f"${sentence}*{value:02X}\r\n".encode()


# ---------------------------------------------------------------------------------- how much memory


def memory(hours: float) -> None:
    """Replay one session again and again, times going on, and look at the memory."""
    track = lw.open_session(
        SAMPLES / "saturday_qualifying.gpx", track=SAMPLES / "wren_hollow.geojson"
    ).shared_track
    log = lw.read_log(SAMPLES / "friday_test_ivo.nmea")
    fixes = [f for f in fixes_of(log) if f.time_s - log.first_fix_s < 800.0]
    laps = [f for f in fixes if f.time_s - log.first_fix_s > 140.0]
    running = Running(Setting(track), at_once=True)
    order, shift, count = InOrder(), 0.0, 0
    begun = time.process_time()
    while count < hours * 36_000:
        for fix in laps:
            moved: Fix = replace(fix, time_s=fix.time_s + shift)
            for one, again in order.take(moved):
                running.take(one, again=again)
            count += 1
        shift += laps[-1].time_s - laps[0].time_s + 0.1
        used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
        cpu = 1e3 * (time.process_time() - begun) / count
        laps_so_far = len(running.laps)
        print(
            f"{count / 36_000:.2f} h: {laps_so_far} laps, {used:.0f} MB at most, {cpu:.2f} ms a fix"
        )


if __name__ == "__main__":
    main()

"""Track file and truth beside a simulated log."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from lapwright.simulate.circuit.circuits import Circuit
from lapwright.simulate.logger.receiving import Recording


def write_track(circuit: Circuit, path: str | Path, *, names: dict[int, str] | None = None) -> None:
    """
    Write the lines of a circuit as a GeoJSON track file.

    Parameters
    ----------
    circuit : Circuit
    path : str or Path
    names : dict or None
        Names of corners by their order; with names, corners are written too.
    """
    start, *sectors = circuit.gates_deg
    features = [_feature("LineString", _lonlat(start), role="start_finish")]
    features += [
        _feature("LineString", _lonlat(line), role="sector", order=k + 1)
        for k, line in enumerate(sectors)
    ]
    if circuit.pit is not None:
        pit = circuit.pit
        count = max(2, round((pit.exit_m - pit.entry_m) / 15.0))
        station = np.linspace(pit.entry_m, pit.exit_m, count)
        lane = circuit.to_degrees(circuit.place(station, pit.share(station) * pit.offset_m))
        features.append(_feature("LineString", _lonlat(lane.tolist()), role="pit_lane"))
    if names:
        apexes = circuit.to_degrees(circuit.place(np.array([b.apex_m for b in circuit.bends])))
        features += [
            _feature("Point", _lonlat([apex])[0], role="corner", order=b.order, name=names[b.order])
            for b, apex in zip(circuit.bends, apexes.tolist(), strict=True)
            if b.order in names
        ]
    turned = sum(b.turn_deg * (1 if b.direction == "left" else -1) for b in circuit.bends)
    track: dict[str, Any] = {"type": "FeatureCollection", "name": circuit.name}
    if abs(turned) > 180:  # a figure of eight has no direction
        track["direction"] = "anticlockwise" if turned > 0 else "clockwise"
    write_whole(path, (json.dumps({**track, "features": features}, indent=1) + "\n").encode())


def write_whole(path: str | Path, data: bytes) -> None:
    """Write a file whole or not at all."""
    target = Path(path)
    part = target.with_name(target.name + ".part")
    part.write_bytes(data)
    part.replace(target)


def _feature(kind: str, coordinates: Any, **properties: Any) -> dict[str, Any]:
    geometry = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def _lonlat(points: list[list[float]]) -> list[list[float]]:
    """RFC 7946 order, eight decimals (1 mm)."""
    return [[round(lon, 8), round(lat, 8)] for lat, lon in points]


def truth_of(recording: Recording) -> dict[str, Any]:
    """
    What really happened, on the axis of the log: seconds since its first fix.

    Returns
    -------
    truth : dict
        ``circuit`` (name, length, lines, corners), ``laps``, ``passes``, ``deltas`` against
        the fastest clean lap at 41 stations, ``planted`` (habits by timed lap) and
        ``receiver``.  Missing values are None.
    """
    run, zero = recording.run, recording.zero_s
    laps = run.laps
    rows = [
        {
            "lap": int(lap["lap"]),
            "kind": lap["kind"],
            "complete": lap["complete"],
            "flags": list(lap["flags"]),
            "start_s": _number(lap["start_s"] - zero),
            "end_s": _number(lap["end_s"] - zero),
            "time_s": _number(lap["time_s"]),
            "sectors_s": [_number(s) for s in lap["sectors_s"]],
        }
        for lap in laps.to_dict("records")
    ]
    launch = None if run.launch_s is None else _number(run.launch_s - zero)
    return {
        "schema": 1,
        "time_axis": "seconds since the first fix of the log",
        "circuit": _circuit(run.circuit),
        "driver": run.driver.name,
        "car": run.car.name,
        "launch_s": launch,
        "laps": rows,
        "passes": _passes(recording),
        "deltas": _deltas(recording),
        "planted": run.planted.drop(columns="turn").to_dict("records"),
        "receiver": {
            name: getattr(recording.receiver, name) for name in recording.receiver.__slots__
        },
    }


def write_truth(recording: Recording, path: str | Path) -> None:
    """Write `truth_of` a recording as JSON."""
    text = json.dumps(truth_of(recording), indent=1, allow_nan=False)
    # Short lists on one line each: a third of the size, and easier to read.
    text = re.sub(r"\[\s+([^][{}]*?)\s+\]", lambda m: f"[{' '.join(m[1].split())}]", text)
    write_whole(path, (text + "\n").encode())


def _number(value: float, digits: int = 9) -> float | None:
    return round(float(value), digits) if np.isfinite(value) else None


def _circuit(circuit: Circuit) -> dict[str, Any]:
    start, *sectors = circuit.gates_deg
    return {
        "name": circuit.name,
        "length_m": round(circuit.length_m, 4),
        "start_finish": start,
        "sectors": sectors,
        "sector_stations_m": [round(s, 3) for s in circuit.sector_stations_m],
        "corners": [
            {
                "corner": b.order,
                "direction": b.direction,
                "entry_m": round(b.entry_m, 1),
                "apex_m": round(b.apex_m, 1),
                "exit_m": round(b.exit_m, 1),
            }
            for b in circuit.bends
        ],
    }


def _passes(recording: Recording) -> list[dict[str, Any]]:
    rows = []
    for row in recording.run.passes.to_dict("records"):
        rows.append(
            {
                "lap": row["lap"],
                "corner": row["corner"],
                "min_speed_mps": _number(row["min_speed_mps"], 4),
                "min_speed_station_m": _number(row["min_station_m"], 2),
                "brake_station_m": _number(row["brake_station_m"], 2),
                "throttle_station_m": _number(row["throttle_station_m"], 2),
                "clear": row["clear"],
                "habits": list(row["habits"]),
            }
        )
    return rows


def _deltas(recording: Recording) -> dict[str, Any]:
    run = recording.run
    laps: pd.DataFrame = run.laps
    clean = laps[(laps["kind"] == "timed") & laps["complete"]]
    clean = clean[[not flags for flags in clean["flags"]]]
    if clean.empty:
        return {}
    best = int(clean["lap"].to_numpy()[int(np.argmin(clean["time_s"].to_numpy()))])
    station = np.linspace(0.0, run.circuit.length_m, 41)
    return {
        "reference": best,
        "station_m": np.round(station, 3).tolist(),
        "delta_s": {
            str(lap): [_number(d, 6) for d in run.delta(lap, best, station)]
            for lap in clean["lap"].tolist()
            if lap != best
        },
    }

"""Tables and lines that an executed notebook shows, held against the sessions they come from."""

import math
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from lxml import html
from readback_worlds import SAMPLE_FOLDER, SAMPLES, notes_of, session_of, truth_of
from session_truth import Truth
from shown import True_, all_wrong, exact, numbers_in, pair, read

from lapwright.discovery import complete_track
from lapwright.geometry import Track, read_track, write_track
from lapwright.session import Session
from lapwright.wording.worth_trying import advice_in_words

FRIDAY = "friday_test.csv"
Frame = tuple[list[str], list[tuple[str, list[str]]]]


def frames_in(book: Any) -> list[Frame]:
    """Tables that a notebook shows: heads, and rows as (index, cells)."""
    out: list[Frame] = []
    for cell in book.cells:
        for one in cell.get("outputs", []):
            text = one.get("data", {}).get("text/html", "")
            if "<table" in text:
                table = html.fromstring(text).xpath("//table")[0]
                heads = [th.text_content() for th in table.xpath("./thead/tr[1]/th")][1:]
                rows = [
                    [cell.text_content() for cell in row.xpath("./th|./td")]
                    for row in table.xpath("./tbody/tr")
                ]
                out.append((heads, [(row[0], row[1:]) for row in rows]))
    return out


def lines_in(book: Any) -> list[str]:
    """Lines that a notebook prints."""
    text = "".join(
        one.text for cell in book.cells for one in cell.get("outputs", [])
        if one.get("name") == "stdout"
    )  # fmt: skip
    return text.splitlines()


def frame_wrong(shown: Frame, true: pd.DataFrame, decimals: int) -> list[str]:
    """Say what is not as in a table, in rows of the same order, after rounding."""
    heads, rows = shown
    if heads != [str(c) for c in true] or len(rows) != len(true):
        return [f"{heads} and {len(rows)} rows for {list(true)} and {len(true)}"]
    out = []
    for (index, cells), (label, row) in zip(rows, true.iterrows(), strict=True):
        if index != str(label):
            out.append(f"row {index} for {label}")
        for head, cell, value in zip(heads, cells, row, strict=True):
            if not _same(cell, value, decimals):
                out.append(f"row {index}, {head}: {cell} for {value}")
    return out


def _same(cell: str, value: Any, decimals: int) -> bool:
    if isinstance(value, (bool, np.bool_, str)):
        return cell == str(value)
    if isinstance(value, tuple):
        return cell == str(value).replace("'", "")
    if not math.isfinite(value):
        return cell == "NaN"
    shown = read(cell)
    return shown is not None and abs(shown.value - value) <= 0.5 * 10.0**-decimals + 1e-7


def wrong_in(stem: str, book: Any) -> list[str]:
    """Say what a notebook shows that is not in the sessions' tables."""
    check: dict[str, Callable[[Any], list[str]]] = {
        "01_after_a_session": _after_a_session, "02_a_weekend": _a_weekend,
        "03_coach_report": _coach_report,
    }  # fmt: skip
    return check[stem](book)


def _after_a_session(book: Any) -> list[str]:
    session = session_of(FRIDAY)
    laps, best = session.laps, session.best_lap
    frames, lines = frames_in(book), lines_in(book)
    names = ["lap", "kind", "time_s", "time_sd_s", "flags", "representative", "top_speed_mps"]
    out = [] if len(frames) == 3 else [f"{len(frames)} tables"]
    out += frame_wrong(frames[0], laps[names], 3)
    # The notebook's own choice: the middle of all clean laps by time.
    clean = laps[laps["representative"]].sort_values("time_s")
    usual = int(clean["lap"].iloc[len(clean) // 2])
    c = session.compare(usual, best)
    said = next(line for line in lines if line.startswith("Lap "))
    true = [exact(usual), exact(c.reference), True_(c.time_difference_s, most=3)]
    bar = True_(c.time_difference_sd_s, most=3)
    out += all_wrong(numbers_in(said.replace(" ± ", " and ")), [*true, bar], said)
    lost = c.ledger.groupby("corner")["difference_s"].sum()
    worst = lost.sort_values(ascending=False).head(3).rename("lost [s]").to_frame()
    out += frame_wrong(frames[1], worst, 3)
    for begins in ("sum of all pieces", "difference of the lap times"):
        line = next(one for one in lines if one.startswith(begins))
        out += all_wrong(numbers_in(line), [True_(c.time_difference_s, most=6)], line)
    names = ["lap", "brake_to_corner_m", "entry_speed_mps", "min_speed_mps", "exit_speed_mps",
             "time_s"]  # fmt: skip
    passes = session.passes
    here = (passes["corner"] == int(worst.index[0])) & passes["lap"].isin([usual, best])
    out += frame_wrong(frames[2], passes.loc[here, names], 2)
    for name in ("position_sd_m", "drift_sd_m", "speed_sd_mps"):
        line = next(one for one in lines if one.startswith(name))
        out += all_wrong(numbers_in(line), [True_(getattr(session.noise, name), most=2)], line)
    line = next(one for one in lines if one.startswith("best sectors added up"))
    known = session.theoretical_best or (math.nan, math.nan)
    out += all_wrong(numbers_in(line), [pair(*known)], line)
    return out + _texts_missing(lines, [w.text for w in advice_in_words(session).items])


def _a_weekend(book: Any) -> list[str]:
    frames = frames_in(book)
    rows, odd = [], []
    track = _found_once()
    for name in SAMPLES:
        truth = Truth(Session(session_of(name).log, track, notes=notes_of(name)))
        laps, session = truth.laps, truth.session
        times = laps.loc[truth.clean, "time_s"]
        best = laps.loc[truth.best]
        rows.append({
            "log": name, "status": "ok", "driver": session.notes.driver,
            "clean_laps": len(times), "best_lap_s": best["time_s"],
            "best_lap_sd_s": best["time_sd_s"], "median_s": times.median(),
            "spread_s": times.std(ddof=1),
        })  # fmt: skip
        odd += [
            {"session": Path(name).stem, "lap": lap, "kind": row["kind"],
             "flags": " ".join(row["flags"]), "time_s": row["time_s"]}
            for lap, row in laps.iterrows() if row["flags"]
        ]  # fmt: skip
    out = [] if len(frames) >= 2 else [f"{len(frames)} tables"]
    out += _unordered(frames[0], pd.DataFrame(rows), 3, ["log"])
    return out + _unordered(frames[1], pd.DataFrame(odd), 2, ["session", "lap"])


def _found_once() -> Track:
    """The circuit as a weekend keeps it: completed from the log with most fixes, in a file."""
    log = max((session_of(name).log for name in SAMPLES), key=lambda log: len(log.fixes))
    track = complete_track(read_track(SAMPLE_FOLDER / "wren_hollow.geojson"), log)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "circuit.geojson"
        write_track(track, file)
        return read_track(file)


def _unordered(shown: Frame, true: pd.DataFrame, decimals: int, keys: list[str]) -> list[str]:
    """Compare tables whose rows are in an order of their own, by what names a row."""
    heads, rows = shown
    places = [heads.index(key) for key in keys]
    by_key = {tuple(cells[k] for k in places): cells for _, cells in rows}
    order = [tuple(str(row[key]) for key in keys) for row in true.to_dict("records")]
    if len(by_key) != len(rows) or set(by_key) != set(order):
        return [f"{sorted(by_key)} for {sorted(order)}"]
    sorted_rows = [(str(k), by_key[key]) for k, key in enumerate(order)]
    return frame_wrong((heads, sorted_rows), true, decimals)


def _coach_report(book: Any) -> list[str]:
    truth, frames, lines = truth_of(FRIDAY), frames_in(book), lines_in(book)
    session = truth.session
    out = [] if len(frames) == 3 else [f"{len(frames)} tables"]
    names = ["corner", "name", "direction", "entry_m", "apex_m", "exit_m", "radius_m"]
    out += frame_wrong(frames[0], session.corners[names], 0)
    rows = {}
    for corner, place in truth.corners.iterrows():
        speed, brake, time = (
            truth.values(int(str(corner)), truth.clean, name)
            for name in ("min_speed_mps", "brake_to_corner_m", "time_s")
        )
        rows[corner] = {
            "name": place["name"],
            "min_speed_kmh": 3.6 * np.median(speed), "varies_kmh": 3.6 * np.std(speed, ddof=1),
            "brake_to_corner_m": np.median(brake), "brake_varies_m": np.std(brake, ddof=1),
            "time_s": np.median(time), "time_varies_s": np.std(time, ddof=1),
        }  # fmt: skip
    out += frame_wrong(frames[1], pd.DataFrame.from_dict(rows, orient="index"), 2)
    out += frame_wrong(frames[2], session.grip.corners, 2)
    return out + _texts_missing(lines, [w.text for w in advice_in_words(session).items])


def _texts_missing(lines: list[str], texts: list[str]) -> list[str]:
    flow = " ".join(" ".join(lines).split())
    return [text for text in texts if " ".join(text.split()) not in flow]

"""Tables and lines that an executed notebook shows, held against the sessions they come from."""

import math
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from cell_reading import Cell, cell_of, comparison_cell_wrong, session_cell_wrong
from lxml import html
from page_reading import table_in
from readback_worlds import SAMPLE_FOLDER, SAMPLES, notes_of, session_of, truth_of
from session_truth import Truth
from shown import True_, all_wrong, exact, pair, read

from lapwright.discovery import complete_track
from lapwright.geometry import Track, read_track, write_track
from lapwright.session import Session
from lapwright.wording.coaching.worth_trying import advice_in_words

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


def cells_in(book: Any) -> list[Cell]:
    """Results that show themselves."""
    texts = [
        one.get("data", {}).get("text/html", "")
        for cell in book.cells for one in cell.get("outputs", [])
    ]  # fmt: skip
    return [cell_of(text) for text in texts if 'class="lapwright"' in text]


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
    truth = truth_of(FRIDAY)
    session, cells = truth.session, cells_in(book)
    assert len(cells) == 2
    out = session_cell_wrong(cells[0], truth, "km/h")
    compared = session.compare(4)
    out += comparison_cell_wrong(cells[1], truth, compared, "km/h")
    # What the notebook says of its own: where the typical lap lost most, and where lap 4 did not.
    lost = session.compare(session.typical_lap).ledger.groupby("corner")["difference_s"].sum()
    tried = {item.name: item for item in session.worth_trying}
    if sorted(tried) != ["Home Farm", "Long Barrow"]:
        out.append(f"worth trying: {list(tried)}")
    home = tried["Home Farm"].corner
    if tried["Long Barrow"].corner not in lost.nlargest(2).index or lost[home] > 0.0:
        out.append(f"lost: {lost}")
    if (
        4 not in tried["Home Farm"].better_laps
        or session.best_lap in tried["Home Farm"].better_laps
    ):
        out.append("lap 4 is not one of the quicker laps at Home Farm")
    flags = session.laps.set_index("lap")["flags"]
    odd = {n: flags[n] for n in flags.index if flags[n]}
    return out if odd == {9: ("bridged",), 11: ("slow",)} else [*out, f"set aside: {odd}"]


def _a_weekend(book: Any) -> list[str]:
    frames = frames_in(book)
    rows: dict[str, tuple[str, list[True_]]] = {}
    odd: list[dict[str, Any]] = []
    track = _found_once()
    for name in SAMPLES:
        truth = Truth(Session(session_of(name).log, track, notes=notes_of(name)))
        laps, session = truth.laps, truth.session
        times = laps.loc[truth.clean, "time_s"]
        best = laps.loc[truth.best]
        rows[Path(name).stem] = (session.notes.driver, [
            exact(len(truth.timed)), exact(len(times)), pair(best["time_s"], best["time_sd_s"]),
            True_(times.median(), most=2), True_(times.std(ddof=1), most=2),
            True_(3.6 * laps["top_speed_mps"].max(), most=1),
        ])  # fmt: skip
        odd += [
            {"session": Path(name).stem, "lap": lap, "kind": row["kind"],
             "flags": " ".join(row["flags"]), "time_s": row["time_s"]}
            for lap, row in laps.iterrows() if row["flags"]
        ]  # fmt: skip
    shown = table_in(cells_in(book)[0].element).rows
    out = [] if sorted(lead for lead, _, _ in shown) == sorted(rows) else [f"{shown}"]
    for lead, _, (driver, *cells) in shown:
        out += [] if driver == rows[lead][0] else [f"{lead}: {driver}"]
        out += all_wrong(cells, rows[lead][1], lead)
    frames = [frame for frame in frames if "flags" in frame[0]]
    return out + _unordered(frames[0], pd.DataFrame(odd), 2, ["session", "lap"])


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
    out = [] if len(frames) == 4 else [f"{len(frames)} tables"]
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
    adds_up = ["corner", "gap_s", "gap_sd_s", "line_s", "minimum_s", "braking_s", "throttle_s"]
    adds_up += ["only_scatter"]
    out += frame_wrong(frames[3], session.achievable.corners[adds_up], 2)
    return out + _texts_missing(lines, [w.text for w in advice_in_words(session).items])


def _texts_missing(lines: list[str], texts: list[str]) -> list[str]:
    flow = " ".join(" ".join(lines).split())
    return [text for text in texts if " ".join(text.split()) not in flow]

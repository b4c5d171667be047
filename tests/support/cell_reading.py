"""A cell of a notebook, parsed: what stands in it, the frame with the whole lap, the picture."""

import base64
from dataclasses import dataclass
from typing import Any

import numpy as np
from lxml import etree, html
from page_reading import numbers_block, only, words
from sentence_truth import five_lines
from session_truth import DISTANCE, Truth, factor, split_units
from shown import all_wrong, exact, numbers_in, pair
from table_checks import beside_wrong, lap_table_wrong, ledger_wrong
from why_truth import evidence_wrong, reasons, time_wrong

from lapwright.laps.comparison import Comparison, time_since_start

PICTURE = "data:image/svg+xml;base64,"


@dataclass(frozen=True)
class Cell:
    """What stands in a cell; the document of its frame and its picture, None where it has none."""

    element: Any
    frame: Any
    picture: Any


def cell_of(text: str) -> Cell:
    """Parse a cell as a browser does: what is within a frame's tags is text to it."""
    element = html.fromstring(text)
    frames = element.xpath(".//iframe")
    assert len(frames) <= 1
    if not frames:
        return Cell(element, None, None)
    frame = frames[0]
    within = "".join([frame.text or "", *(source.decode() for source in _children(frame))])
    address = only(html.fragment_fromstring(within, create_parent=True), ".//img").get("src")
    assert address.startswith(PICTURE)
    picture = etree.fromstring(base64.b64decode(address.removeprefix(PICTURE)))
    return Cell(element, html.document_fromstring(frame.get("srcdoc")), picture)


def _children(frame: Any) -> list[bytes]:
    return [etree.tostring(child, method="html") for child in frame]


def part(cell: Cell, title: str) -> Any:
    """A part that can be folded, by its title; None where there is none."""
    found = [
        one for one in cell.element.xpath(".//details")
        if words(only(one, "./summary")).startswith(title)
    ]  # fmt: skip
    return found[0] if found else None


def session_cell_wrong(cell: Cell, truth: Truth, units: str) -> list[str]:
    """Say what a session's cell shows that is not in its tables."""
    lists = cell.element.xpath("./ol")
    said = [words(line) for line in lists[0].xpath("./li")]
    labels = {**truth.labels, truth.session.log.path.name: "", truth.session.track.name or "-": ""}
    out = []
    for text, true in zip(
        said, five_lines(truth, units, said[3] if len(said) > 3 else ""), strict=True
    ):
        out += all_wrong(numbers_in(text, labels), true, text)
    items = truth.session.worth_trying
    tries = [words(line) for line in lists[1].xpath("./li")] if len(lists) > 1 else []
    assert len(tries) == len(items)
    out += lap_table_wrong(part(cell, "Laps"), truth, units)
    lost = part(cell, "Where the time goes")
    assert (lost is None) == (truth.comparison is None)
    if lost is not None:
        out += ledger_wrong(lost, truth)
    assert (cell.frame is None) == (truth.best is None)
    return out + (numbers_wrong(cell, truth, units) if cell.frame is not None else [])


def numbers_wrong(cell: Cell, truth: Truth, units: str) -> list[str]:
    """Say which numbers of the frame's script are not those of the laps."""
    data = numbers_block(cell.frame)
    assert truth.best is not None
    assert (data["best"], data["usual"]) == (truth.best, truth.usual)
    assert {truth.best, truth.usual} - {None} <= {int(n) for n in data["laps"]}
    best, out = truth.trace(truth.best), []
    length = truth.session.track.length_m
    station = np.append(np.arange(0.0, length - 1e-6, data["step"]), length)
    speed, far = split_units(units)
    assert (data["units"], data["distance"]) == (speed, [far, DISTANCE[far]])
    for lap, arrays in data["laps"].items():
        trace = truth.trace(int(lap))
        true = trace.at_station("speed_mps", station) * factor("speed", units)
        delta = time_since_start(trace, station) - time_since_start(best, station)
        # Tenths of a speed, whole milliseconds.
        good = np.abs(np.array(arrays["speed"]) / 10.0 - true).max() <= 0.0501
        good &= np.abs(np.array(arrays["delta"]) / 1e3 - delta).max() <= 0.000501
        out += [] if good else [f"lap {lap} of the frame"]
    return out


def _why_wrong(element: Any, c: Comparison, units: str) -> list[str]:
    """Say what the sentences and the table of two laps say that is not so."""
    if not c.track.corners:
        assert element is None
        return []
    found = reasons(c)
    matter = sorted((n for n in found if found[n].clear), key=lambda n: -abs(found[n].lost_s))
    said = [words(one) for one in element.xpath(".//li")]
    out = []
    for corner, text in zip(matter, said, strict=True):
        if corner:
            out += time_wrong(text, found[corner]) + evidence_wrong(text, c, corner, units)
        else:
            assert text.startswith("Start to corner 1: ")
    return out + beside_wrong(element, c, found, units)


def comparison_cell_wrong(cell: Cell, truth: Truth, c: Comparison, units: str) -> list[str]:
    """Say what the cell of a comparison shows that is not in it."""
    said = words(cell.element.xpath("./p[@class='head']")[0])
    true = [exact(c.lap), exact(c.reference)]
    if "itself" not in said:
        true.append(pair(c.time_difference_s, c.time_difference_sd_s))
    label = {c.reference_log.name: ""}
    out = all_wrong(numbers_in(said, label), true[: 1 if "itself" in said else 3], said)
    out += ledger_wrong(part(cell, "Where the time goes"), truth, c)
    out += _why_wrong(part(cell, "Why"), c, units)
    data = numbers_block(cell.frame)
    station = c.delta["station_m"].to_numpy()
    speed, base = (
        trace.at_station("speed_mps", station) * factor("speed", units)
        for trace in (c.lap_trace, c.reference_trace)
    )
    # Tenths of a speed, whole milliseconds, and of the error bar whole tenths of one.
    for lap, name, count, true_ in (
        (data["usual"], "delta", 1e3, c.delta["delta_s"]),
        (data["usual"], "sd", 1e4, c.delta["delta_sd_s"]),
        (data["usual"], "speed", 10.0, speed), (data["best"], "speed", 10.0, base),
    ):  # fmt: skip
        off = np.abs(np.array(data["laps"][str(lap)][name]) - count * np.asarray(true_))
        out += [] if off.max() <= 0.501 else [f"{lap} {name}"]
    return out

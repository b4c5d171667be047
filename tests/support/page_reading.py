"""A report as HTML, parsed: its sections, tables, sentences and pictures."""

import json
import re
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from lxml import etree, html
from readback_worlds import notes_of, session_of

from lapwright.report import write_html

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Table:
    """A table: heads as (name, unit), rows as (what leads it, its class, cells)."""

    heads: list[tuple[str, str]]
    rows: list[tuple[str, str, list[str]]]
    foot: list[tuple[str, str, list[str]]]


@cache
def page_of(name: str, units: str = "km/h", reference: int | None = None) -> Any:
    """Write a session's report, and parse it."""
    session = session_of(name)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "report.html"
        write_html(session, file, reference, notes_of(name), units=units)
        return html.fromstring(file.read_text(encoding="utf-8"))


def words(element: Any) -> str:
    """Text of an element, white space collapsed."""
    return " ".join(element.text_content().split())


def only(element: Any, path: str) -> Any:
    """The one element at a path."""
    found = element.xpath(path)
    assert len(found) == 1, (path, len(found))
    return found[0]


def section(page: Any, name: str) -> Any:
    """A section by its anchor; None where the page has none."""
    found = page.xpath(f"//*[@id='{name}']")
    assert len(found) <= 1, name
    return found[0] if found else None


def table_in(element: Any, kind: str = "not(@class='beside')") -> Table:
    """The one table in an element that is not of two laps side by side, or is of another kind."""
    table = only(element, f".//table[{kind}]")
    heads = []
    for cell in table.xpath(".//thead//th"):
        found = re.fullmatch(r"(.*?)(?: \[(.*)\])?", words(cell))
        assert found is not None
        heads.append((found[1], found[2] or ""))
    body, foot = ([_row(row) for row in table.xpath(f"./{part}/tr")] for part in ("tbody", "tfoot"))
    return Table(heads, body, foot)


def beside_in(element: Any) -> tuple[list[tuple[str, str]], list[list[tuple[str, list[Any]]]]]:
    """The table of two laps side by side: its heads, and a list of rows (lead, cells) a corner."""
    heads = table_in(element, "@class='beside'").heads
    bodies = only(element, ".//table[@class='beside']").xpath("./tbody")
    rows = [
        [(words(row.xpath("./th")[0]), row.xpath("./td")) for row in body.xpath("./tr[td]")]
        for body in bodies
    ]
    return heads, rows


def _row(row: Any) -> tuple[str, str, list[str]]:
    lead, *cells = row.xpath("./th|./td")
    return words(lead), row.get("class") or "", [words(cell) for cell in cells]


def cards(page: Any) -> dict[int, Any]:
    """The corners' cards by number."""
    found = page.xpath("//article[@class='card']")
    out = {int(card.get("id").removeprefix("corner-")): card for card in found}
    assert len(out) == len(found)
    return out


def numbers_block(page: Any) -> dict[str, Any]:
    """The numbers that the page's script draws from."""
    return json.loads(only(page, "//script[@id='numbers']").text)


def path_points(path: str) -> np.ndarray:
    """Points of an SVG path of M, m, L, l and z, shape (n, 2)."""
    points: list[tuple[float, float]] = []
    for letter, numbers in re.findall(r"([MmLlz])([^MmLlz]*)", path):
        values = [float(v) for v in re.findall(r"-?\d+(?:\.\d+)?", numbers)]
        assert len(values) % 2 == 0
        for x, y in zip(values[::2], values[1::2], strict=True):
            relative = letter.islower() and points
            points.append((x + points[-1][0], y + points[-1][1]) if relative else (x, y))
    return np.array(points).reshape(-1, 2)


def percent(text: str) -> float:
    """A share from ``12.5%``."""
    assert text.endswith("%")
    return float(text[:-1]) / 100.0


def source(element: Any) -> str:
    """The element as it was written."""
    return etree.tostring(element, encoding="unicode")

"""A weekend's cell; its numbers are read back in `tests/readback`."""

from pathlib import Path

import numpy as np
import pandas as pd
from cell_reading import cell_of
from page_reading import table_in, words

from lapwright.batch import Weekend
from lapwright.columns.weekend import SESSIONS
from lapwright.notebook.weekend_cell import weekend_cell
from lapwright.units import Units

NASTY = "<script>top.broken = 1</script> </style> \" '"


def row(name: str, **more: object) -> dict[str, object]:
    empty = {c.name: np.nan if c.holds is float else "" for c in SESSIONS}
    known = {"session": name.split(".")[0], "path": f"logs/{name}", "status": "ok", "laps": 3,
             "clean_laps": 2, "start_utc": pd.NaT, "track": "Wren Hollow"}  # fmt: skip
    return empty | known | more


def weekend(*rows: dict[str, object], **more: object) -> Weekend:
    nothing = pd.DataFrame()
    return Weekend(pd.DataFrame(list(rows)), nothing, Path("out"), (), 1, 0, nothing, **more)  # type: ignore[arg-type]


def test_sessions_stand_in_the_order_of_their_times() -> None:
    late, early = (pd.Timestamp(f"2026-02-0{day}", tz="UTC") for day in (7, 6))
    made = weekend(
        row("a.csv", start_utc=late), row("c.csv"), row("b.csv.gz", start_utc=early)
    )  # fmt: skip
    table = table_in(cell_of(weekend_cell(made, Units())).element)
    # One without a date comes last.
    assert [lead for lead, _, _ in table.rows] == ["b", "a", "c"]


def test_a_log_that_failed_is_told_apart_with_its_reason() -> None:
    failed = row("x.csv", status="failed", reason="x.csv: holds no positions")
    made = weekend(
        row("a.csv"), failed, left_out=(Path("notes.txt"),), notes=("One file is broken.",)
    )
    cell = cell_of(weekend_cell(made, Units()))
    assert [lead for lead, _, _ in table_in(cell.element).rows] == ["a"]
    said = words(cell.element)
    assert "Could not be used (1): x.csv: holds no positions" in said
    assert "Not a log, left out: notes.txt" in said
    assert "One file is broken." in said
    assert "Circuit: Wren Hollow" in said
    assert "Not official timing" in said


def test_what_people_wrote_is_text() -> None:
    made = weekend(
        row("a.csv", driver=NASTY, track=NASTY, conditions=NASTY, changes=NASTY),
        row("b.csv", status="failed", reason=NASTY), left_out=(Path("</iframe><b>.txt"),),
        notes=(NASTY,),
    )  # fmt: skip
    cell = cell_of(weekend_cell(made, Units()))
    assert cell.element.xpath(".//script") == []
    assert words(cell.element).count(" ".join(NASTY.split())) == 6
    assert len(weekend_cell(made, Units())) < 10_000

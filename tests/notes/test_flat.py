"""Notes in one value a column, as the columns are described."""

import math

from lapwright.columns.weekend import NOTES
from lapwright.columns.weekend import WHEELS as DESCRIBED
from lapwright.notes.flat import WHEELS, flat
from lapwright.notes.weekend_notes import LogNotes


def test_every_column_of_the_notes() -> None:
    assert set(flat(LogNotes())) == {column.name for column in NOTES}
    assert tuple(DESCRIBED) == WHEELS


def test_each_wheel_has_its_own_pressure() -> None:
    row = flat(LogNotes(pressures_cold_bar=(1.1, 1.2, 1.3, 1.4), tyre_laps=0))
    assert [row[f"pressure_cold_{wheel}_bar"] for wheel in WHEELS] == [1.1, 1.2, 1.3, 1.4]
    assert all(math.isnan(row[f"pressure_hot_{wheel}_bar"]) for wheel in WHEELS)  # type: ignore[arg-type]
    # None driven is not the same as not noted.
    assert row["tyre_laps"] == 0
    assert flat(LogNotes())["tyre_laps"] is None

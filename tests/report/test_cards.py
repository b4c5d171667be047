"""The table of a corner's card: every cell is that lap's own."""

import numpy as np
import pytest

from lapwright.report.cards import corner_cards
from lapwright.report.report_data import ReportData
from lapwright.units import Units

# Columns that the card works out from a station and the corner's apex.
FROM_APEX = {
    "slowest past apex": "min_speed_station_m",
    "throttle past apex": "throttle_station_m",
}


@pytest.mark.parametrize("head", FROM_APEX)
def test_distances_from_the_apex_are_those_of_the_lap_in_the_row(
    material: ReportData, head: str
) -> None:
    shown = expected = 0
    for card in corner_cards(material, Units(), pictures=False):
        k = [column.head for column in card.columns].index(head)
        passes = material.passes[material.passes["corner"] == card.number].set_index("lap")
        for row in card.rows:
            station = float(passes.loc[int(row.lead), FROM_APEX[head]])
            text = row.cells[k].partition(" ± ")[0].replace("\N{MINUS SIGN}", "-")
            expected += bool(np.isfinite(station))
            if text != "\N{EN DASH}":
                shown += 1
                assert float(text) == pytest.approx(station - card.apex_m, abs=0.5 + 1e-9)
    assert shown == expected > 100

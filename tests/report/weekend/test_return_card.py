"""The card for the next visit."""

import pytest

from lapwright.coaching.pooled import pooled
from lapwright.report.weekend.data import CircuitData
from lapwright.report.weekend.return_card import return_cards
from lapwright.units import Units


def test_a_card_per_driver_and_surface(circuit: CircuitData) -> None:
    drivers = [
        [card.facts[0][1] for card in return_cards(circuit, part, "Hollow", Units())]
        for part in circuit.fields
    ]
    assert [sorted(names) for names in drivers] == [["Ivo", "Runa"], ["runa"], []]


def test_usual_figures_are_the_sessions_together_and_best_the_best_laps(
    circuit: CircuitData,
) -> None:
    dry = circuit.fields[0]
    runa = next(c for c in return_cards(circuit, dry, "", Units()) if c.facts[0][1] == "Runa")
    assert len(runa.rows) == len(circuit.corners)
    row = next(r for k, r in enumerate(runa.rows, start=1) if k == 4)
    means = [one.corners[4].typical["min_speed_mps"] for one in dry.drivers["Runa"]]
    true = pooled([one.mean for one in means], [one.sd for one in means])
    value, sd = (float(text) for text in row.cells[2].split(" ± "))
    assert value == pytest.approx(true.value * 3.6, abs=0.06)
    assert sd == pytest.approx(true.sd * 3.6, abs=0.06)
    best = min(dry.drivers["Runa"], key=lambda one: one.best or (0.0, 0.0))
    on_best = best.corners[4].best["min_speed_mps"][0] * 3.6
    assert float(row.cells[3].split(" ")[0]) == pytest.approx(on_best, abs=0.06)


def test_the_plan_has_every_corner(circuit: CircuitData) -> None:
    card = return_cards(circuit, circuit.fields[0], "Hollow", Units())[0]
    assert card.plan is not None
    numbers = [place.text for place in card.plan.places if place.kind == "number"]
    assert numbers == [str(c.order) for c in circuit.track.corners]
    assert return_cards(circuit, circuit.fields[0], "", Units(), pictures=False)[0].plan is None

"""Corners of the truth."""

import numpy as np
import pytest

from lapwright.simulate import invented
from lapwright.simulate.circuit.bends import find_bends


def test_two_bends_of_the_athletics_shape() -> None:
    # 84.39 m straights, radius 36.80 m, 115.6106 m each bend (World Athletics rule).
    straight, bend = 84.39, np.pi * 36.80
    length = 2 * (straight + bend)
    station = np.arange(4000) * length / 4000
    curved = np.mod(station, straight + bend) >= straight
    found = find_bends(station, np.where(curved, 1 / 36.80, 0.0), length)
    assert [b.direction for b in found] == ["left", "left"]
    assert [b.order for b in found] == [1, 2]
    for b, entry in zip(found, (straight, 2 * straight + bend), strict=True):
        assert b.entry_m == pytest.approx(entry, abs=0.15)
        assert (b.exit_m - b.entry_m) % length == pytest.approx(bend, abs=0.3)
        assert b.radius_m == pytest.approx(36.80)
        assert b.turn_deg == pytest.approx(180.0, abs=0.3)


def test_a_hollow_parts_two_corners_and_a_dent_does_not() -> None:
    station = np.arange(1000.0)
    peak = 0.03 * np.exp(-0.5 * ((station[:, None] - [300, 360]) / 14) ** 2).sum(axis=1)
    assert len(find_bends(station, peak, 1000.0)) == 2
    close = 0.03 * np.exp(-0.5 * ((station[:, None] - [300, 330]) / 14) ** 2).sum(axis=1)
    assert len(find_bends(station, close, 1000.0)) == 1


def test_a_straight_and_a_kink_have_no_corners() -> None:
    station = np.arange(1000.0)
    kink = np.where(np.abs(station - 500) < 5, -0.01, 0.0)  # 5.7 degrees
    assert find_bends(station, kink, 1000.0) == ()


def test_wren_hollow_has_what_it_says() -> None:
    circuit = invented("wren_hollow")
    assert circuit.length_m == pytest.approx(3000, abs=200)
    hairpin = min(circuit.bends, key=lambda b: b.radius_m)
    assert hairpin.radius_m < 15
    assert hairpin.turn_deg > 170
    chicane = [
        (a, b)
        for a, b in zip(circuit.bends[:-1], circuit.bends[1:], strict=True)
        if a.direction != b.direction and b.apex_m - a.apex_m < 50
    ]
    assert len(chicane) == 1
    assert max(b.radius_m for b in circuit.bends) > 120  # the fast sweep
    # Two straights close together: before and after the hairpin.
    before = circuit.place(np.array([hairpin.entry_m - 150]))[0]
    after = circuit.place(hairpin.exit_m + np.arange(50.0, 250.0))
    assert np.hypot(*(after - before).T).min() < 35

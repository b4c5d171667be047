import numpy as np
import pytest

from lapwright.geometry.path import ReferencePath
from lapwright.live_session.forward import trail as module
from lapwright.live_session.forward.trail import Trail


def ring() -> ReferencePath:
    angle = np.linspace(0.0, 2 * np.pi, 60, endpoint=False)
    return ReferencePath(100 * np.cos(angle), 100 * np.sin(angle))


def test_memory_is_bounded_and_the_newest_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "_MOST", 2000)
    trail = Trail(ring())
    for i in range(10_000):
        trail.add(float(i), np.zeros(2), 10.0, float(i), 0.0, lost=False)
    assert len(trail._rows) <= 4000
    rows = trail.since(9990.0, 9999.0)
    assert rows[:, 0].tolist() == [float(i) for i in range(9990, 10_000)]


def test_what_is_forgotten_is_gone_and_the_rest_stays() -> None:
    trail = Trail(ring())
    for i in range(100):
        trail.add(float(i), np.zeros(2), 10.0, float(i), 0.0, lost=False)
    trail.forget_before(50.0)
    assert trail.since(0.0, 200.0)[:, 0].tolist() == [float(i) for i in range(50, 100)]


def test_beside_the_usual_line_is_measured_from_it() -> None:
    trail = Trail(ring())
    for i in range(100):
        trail.add(float(i), np.zeros(2), 10.0, float(i), 3.0, lost=False)
    usual = np.array([[0.0, 700.0], [2.0, 2.0], [20.0, 20.0]])
    mapped = trail.mapped(0.0, 200.0, usual)
    assert mapped is not None
    assert mapped.aside_m == pytest.approx(np.full(100, 1.0))
    assert mapped.slowness == pytest.approx(np.full(100, 0.5))
    assert trail.mapped(500.0, 600.0, None) is None

"""What cost the time, on laps made by hand: a slow corner, a straight, a braking, a slow corner."""

from dataclasses import replace

import numpy as np
import pytest

from lapwright.laps.lost_time import Link, Way, link_costs

# Slowest point at 0 and 600 m with 20 m/s; the corner ends at 50 m, braking begins at 393 m, from
# 57 m/s.
EDGES = np.arange(0.0, 601.0)
MIDDLE = 0.5 * (EDGES[1:] + EDGES[:-1])
SLOW_MPS, EXIT_M, PULL_MPS2, POWER = 20.0, 50.0, 4.0, 120.0
ENTRY_M, BRAKE_MPS2 = 570.0, 8.0
LINK = Link(0.0, EXIT_M, 370.0, ENTRY_M, 600.0, 0.0, 0.0)


def profile(
    *, out_mps: float = SLOW_MPS, in_mps: float = SLOW_MPS, wait_m: float = 0.0,
    early_m: float = 0.0, lift_mps: float = 0.0,
) -> np.ndarray:  # fmt: skip
    """Pull at 4 m/s² to 50 m, at 120 W/kg to the braking point, brake at 8 m/s², hold the speed."""
    way = np.maximum(np.minimum(MIDDLE, EXIT_M) - wait_m, 0.0)
    speed = np.sqrt(out_mps**2 + 2.0 * PULL_MPS2 * way)
    at_exit = np.sqrt(out_mps**2 + 2.0 * PULL_MPS2 * (EXIT_M - wait_m))
    straight = np.cbrt(at_exit**3 + 3.0 * POWER * np.maximum(MIDDLE - EXIT_M, 0.0))
    speed = np.where(MIDDLE < EXIT_M, speed, straight - lift_mps * (np.abs(MIDDLE - 200.0) < 50.0))
    braking = np.sqrt(in_mps**2 + 2.0 * BRAKE_MPS2 * np.maximum(ENTRY_M - early_m - MIDDLE, 0.0))
    return np.minimum(speed, braking)


def way(speed_mps: np.ndarray) -> Way:
    return Way(1.0 / speed_mps, speed_mps)


REFERENCE = profile()


def costs(speed_mps: np.ndarray, **gains: float) -> dict[str, float]:
    found = link_costs(MIDDLE, way(speed_mps), way(REFERENCE), replace(LINK, **gains))
    names = ("minimum", "exit", "straight", "braking", "next_minimum")
    return dict(zip(names, found.parts.tolist(), strict=True))


def lost(speed_mps: np.ndarray) -> float:
    return float((1.0 / speed_mps - 1.0 / REFERENCE).sum())


SLOWER = 18.0
CASES = {
    "minimum": (profile(out_mps=SLOWER), {"start_gain2": SLOWER**2 - SLOW_MPS**2}),
    "exit": (profile(wait_m=15.0), {}),
    "straight": (profile(lift_mps=3.0), {}),
    "braking": (profile(early_m=15.0), {}),
    "next_minimum": (profile(in_mps=SLOWER), {"end_gain2": SLOWER**2 - SLOW_MPS**2}),
}


@pytest.mark.parametrize("cause", CASES)
def test_one_thing_done_is_charged_with_all_it_cost(cause: str) -> None:
    speed, gains = CASES[cause]
    found = costs(speed, **gains)
    total = lost(speed)
    assert total > 0.05
    assert found[cause] == pytest.approx(total, rel=0.01)
    others = [value for name, value in found.items() if name != cause]
    np.testing.assert_allclose(others, 0.0, atol=0.01 * total)


def test_a_slow_exit_pays_for_the_straight_too() -> None:
    speed, _ = CASES["exit"]
    in_corner = float((1.0 / speed - 1.0 / REFERENCE)[MIDDLE < EXIT_M].sum())
    assert costs(speed)["exit"] > 1.2 * in_corner


def test_two_things_are_told_apart() -> None:
    both = profile(wait_m=15.0, early_m=15.0)
    found = costs(both)
    for cause in ("exit", "braking"):
        assert found[cause] == pytest.approx(lost(CASES[cause][0]), rel=0.02)


@pytest.mark.parametrize("seed", range(5))
def test_parts_add_up_and_swapping_flips_them(seed: int) -> None:
    rng = np.random.default_rng(seed)
    speeds = [profile(wait_m=10 * rng.random(), early_m=20 * rng.random()) for _ in "ab"]
    times = [rng.uniform(0.9, 1.1, len(s)) / s for s in speeds]
    a, b = (Way(t, s) for t, s in zip(times, speeds, strict=True))
    link = replace(LINK, start_gain2=rng.normal(0, 20), end_gain2=rng.normal(0, 20))
    there = link_costs(MIDDLE, a, b, link).parts
    turned = replace(link, start_gain2=-link.start_gain2, end_gain2=-link.end_gain2)
    np.testing.assert_allclose(there, -link_costs(MIDDLE, b, a, turned).parts, atol=1e-12)
    assert there.sum() == pytest.approx(times[0].sum() - times[1].sum(), abs=1e-9)


def test_a_lap_against_itself_lost_nothing() -> None:
    np.testing.assert_array_equal(list(costs(REFERENCE).values()), 0.0)


def test_a_link_that_ends_at_the_line_has_no_braking() -> None:
    link = replace(LINK, slowing_m=350.0, entry_m=350.0, end_m=350.0)
    part = slice(0, 350)
    speed, _ = CASES["exit"]
    found = link_costs(MIDDLE[part], way(speed[part]), way(REFERENCE[part]), link)
    assert (found.braking_s, found.next_minimum_s) == (0.0, 0.0)
    assert found.exit_s == pytest.approx(float((1 / speed - 1 / REFERENCE)[part].sum()), rel=0.01)

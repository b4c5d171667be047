"""What is done in one corner on some laps of a simulated session is named, there and as that."""

from dataclasses import replace

import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.corners.why import Why, why

# What a driver does by chance must be less than what is planted, as two laps are compared.
TIDY = sim.Driver(corner_spread=0.004, braking_sd_m=1.5, throttle_sd_m=1.5)
BRAKING, MINIMUM, EXIT = 3, 5, 10
HABITS = (
    sim.BrakeEarly(BRAKING, 15.0, share=0.5), sim.SlowMinimum(MINIMUM, 5.0 / 3.6, share=0.5),
    sim.LateThrottle(EXIT, 20.0, share=0.5),
)  # fmt: skip


@pytest.fixture(scope="module")
def habits(tmp_path_factory: pytest.TempPathFactory) -> World:
    driver = replace(TIDY, habits=HABITS)
    return make_world(tmp_path_factory.mktemp("why"), sim.Plan((8,)), driver=driver, seed=7)


def found(world: World, corner: int) -> list[tuple[Why, Why]]:
    """A lap with the habit against one without it, and the other way round: what is said there."""
    true = world.run.passes[world.run.passes["corner"] == corner].set_index("timed_lap")["habits"]
    laps = dict(enumerate(world.session.timed_laps, start=1))
    clean = set(world.session.laps.loc[world.session.laps["representative"], "lap"])
    did = [laps[n] for n, h in true.items() if n in laps and h and laps[n] in clean]
    others = [laps[n] for n, h in true.items() if n in laps and not h and laps[n] in clean]
    assert did
    assert others
    out = []
    for mine, other in zip(did, others, strict=False):
        there, back = (
            next(k for k in why(world.session.compare(*pair)) if k.corner == corner)
            for pair in ((mine, other), (other, mine))
        )
        out.append((there, back))
    return out


@pytest.mark.parametrize(
    ("corner", "cause", "shows"),
    [
        (BRAKING, "braking", "brake_to_corner_m"),
        (MINIMUM, "minimum", "min_speed_mps"),
        (EXIT, "exit", "throttle_station_m"),
    ],
)
def test_what_was_planted_is_named(habits: World, corner: int, cause: str, shows: str) -> None:
    pairs = found(habits, corner)
    for there, back in pairs:
        assert there.clear
        assert there.lost_s > 0.0
        assert there.cause == cause
        assert shows in [a.name for a in there.shown_by]
        # Asked the other way round, the same is gained.
        assert back.lost_s == pytest.approx(-there.lost_s, abs=1e-9)
        assert (back.cause, shows in [a.name for a in back.shown_by]) == (cause, True)
    assert len(pairs) >= 2

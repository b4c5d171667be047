"""What is said of the calculated lap, for made-up figures."""

from dataclasses import replace

import pandas as pd

from lapwright.achievable import Achievable
from lapwright.wording.coaching.achievable import CALCULATED, achievable_in_words


def found(**changed: object) -> Achievable:
    corners = pd.DataFrame(
        {
            "corner": [1, 2, 3], "gap_s": [0.30, 0.05, 0.12], "gap_low95_s": [0.12, -0.1, 0.02],
            "gap_high95_s": [0.48, 0.2, 0.22], "line_s": [-0.001, 0.0, 0.0],
            "minimum_s": [0.17, 0.0, 0.02], "braking_s": [0.06, 0.02, 0.1],
            "throttle_s": [0.07, 0.03, 0.0], "only_scatter": [False, True, False],
            "beyond": [False, False, False],
        }
    )  # fmt: skip
    along = pd.DataFrame({"allowed_mps": [20.0, 50.0], "allowed_low95_mps": [19.0, 49.5]})
    usual = Achievable(
        (1, 2, 3, 4, 5, 6), 94.6, 0.36, 93.9, 95.3, 95.56, 0.13, 0.96, 0.35, 0.27, 1.65, 4, 94.9,
        0.4, 50.5, along, corners,
    )  # fmt: skip
    return replace(usual, **changed)  # type: ignore[arg-type]


def test_lap_and_corners() -> None:
    assert achievable_in_words(found(), {}) == (
        "Your usual line, cornering, braking and acceleration all on one lap: 1:34.6 s (95 % "
        "interval 1:33.9 to 1:35.3 s). Your 6 clean laps average 1:35.56 s, your best is "
        "1:34.90 s.",
        "Where your usual run is slower than the calculated one: corner 1 by 0.30 s (0.12 to "
        "0.48; minimum speed 0.17, throttle 0.07, braking 0.06, line 0.00); corner 3 by 0.12 s "
        "(0.02 to 0.22; braking 0.10, minimum speed 0.02, throttle 0.00, line 0.00). In brackets "
        "the 95 % interval, and what the gap is made of.",
    )


def test_at_the_limit() -> None:
    corners = found().corners.assign(only_scatter=True)
    said = achievable_in_words(found(gap_low95_s=-0.2, corners=corners), {})
    assert said[1:] == (
        "Your usual lap is inside that interval: over the whole lap there is nothing left but "
        "scatter.",
        "In no one corner is the gap to your usual run more than scatter.",
    )


def test_beyond_anything_driven() -> None:
    corners = found().corners.assign(beyond=[True, True, True])
    last = achievable_in_words(found(best_s=95.2, corners=corners), {})[-1]
    assert last == (
        "It lies beyond anything you have driven here as a whole lap and in corners 1, 3: that is "
        "arithmetic, and stays out of what is worth trying."
    )
    faster = achievable_in_words(found(speed_seen_mps=49.0), {})[-1]
    assert faster.startswith("It lies beyond anything you have driven here as a whole lap:")


def test_what_may_be_nothing_is_not_beyond() -> None:
    corners = found().corners.assign(beyond=True, only_scatter=True)
    said = achievable_in_words(found(best_s=95.2, gap_low95_s=-0.1, corners=corners), {})
    assert "beyond" not in " ".join(said)


def test_nothing_is_said_of_nothing() -> None:
    assert achievable_in_words(None, {}) == ()


def test_no_dare() -> None:
    said = " ".join([*achievable_in_words(found(), {}), CALCULATED]).lower()
    for dare in ("brake later", "go faster", "push", "should", "must", "could be"):
        assert dare not in said

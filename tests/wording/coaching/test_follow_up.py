"""What came of a try in words: noted in full, only suggested in short, in the reader's units."""

from dataclasses import replace

import numpy as np
import pytest
from worlds import World

from lapwright.coaching.before_after import Difference
from lapwright.coaching.follow_up import FollowUp
from lapwright.geometry import Corner, Track
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.units import Units
from lapwright.wording.coaching.follow_up import (
    follow_up_text,
    not_understood,
    quoted,
    what_and_where,
)

STILE = Corner(4, "Stile", "left", 500.0, 540.0, 590.0, 40.0)
TIME = Difference(10.57, 10.32, -0.25, -0.45, -0.05, 9, 7)
REST = Difference(0.0, -0.23, -0.23, -0.41, -0.05, 9, 7)


@pytest.fixture(scope="module")
def track(world: World) -> Track:
    """A track with a corner that has a name."""
    return world.session.track.with_corner_names({4: "Stile"})


def came(code: str, feature: Difference, *entries: str, rest: Difference = REST) -> FollowUp:
    return FollowUp(WorthTrying(4, code), TIME, rest, feature, entries)


def test_what_was_only_suggested_is_said_in_short(track: Track) -> None:
    later = Difference(400.0, 412.0, 12.0, 7.6, 16.4, 9, 7)
    assert follow_up_text(came("braking", later), track) == (
        "Suggested last time, not noted as tried: braking at corner 4 (Stile): on average 12 m "
        "later (95 % interval 8 to 16 m later); allowing for how the rest of the lap changed: "
        "0.23 s quicker (95 % interval 0.05 to 0.41 s quicker)."
    )


def test_what_was_noted_is_quoted_and_not_judged(track: Track) -> None:
    later = Difference(400.0, 412.0, 12.0, 7.6, 16.4, 9, 7)
    said = follow_up_text(came("braking", later, "T4: brake earlier", "T4"), track)
    assert said.startswith(
        'You noted: "T4: brake earlier"; "T4". Braking at corner 4 (Stile): on average 12 m later '
    )
    assert (
        "; braking zone to next braking zone: 10.57 s before, 10.32 s now (9 clean laps then, 7 "
        "now). Allowing for how the rest of the lap changed: 0.23 s quicker" in said
    )
    assert "Suggested" not in said


def test_units_are_those_of_the_reader(track: Track) -> None:
    # 20.0 and 21.0 m/s are 72.0 and 75.6 km/h, 44.7 and 47.0 mph; 1 m/s is 3.6 km/h or 2.2 mph.
    faster = came("minimum_speed", Difference(20.0, 21.0, 1.0, 0.5, 1.5, 9, 7))
    said = follow_up_text(faster, track)
    assert "on average 3.6 km/h higher (95 % interval 1.8 to 5.4 km/h higher)" in said
    assert "72.0 km/h before, 75.6 km/h now" in said
    for units in ("mph", Units("mph")):
        assert "2.2 mph higher" in follow_up_text(faster, track, units)
        assert "44.7 mph before, 47.0 mph now" in follow_up_text(faster, track, units)
    # 1.2 m are 3.9 ft.
    wide = came("line", Difference(0.4, 1.6, 1.2, 0.9, 1.5, 9, 7))
    assert "at the apex on average 3.9 ft farther left" in follow_up_text(wide, track, "mph,ft")


def test_no_verdict_on_what_is_not_resolved(track: Track) -> None:
    same = Difference(20.0, 20.1, 0.1, -0.4, 0.6, 9, 7)
    open_ = Difference(0.0, -0.05, -0.05, -0.2, 0.1, 9, 7)
    said = follow_up_text(came("throttle", same, rest=open_), track)
    assert (
        "throttle at corner 4 (Stile): no difference shown (95 % interval 0 to 1 m later)" in said
    )
    assert said.endswith(
        "0.05 s quicker (95 % interval 0.20 s quicker to 0.10 s slower), so it could be nothing."
    )


def test_few_laps_are_said_to_be_few(track: Track) -> None:
    inf = float("inf")
    one = Difference(0.0, -0.2, -0.2, -inf, inf, 1, 7)
    said = follow_up_text(came("braking", replace(one, difference=5.0), rest=one), track)
    assert "5 m later, from too few laps to judge by; too few laps to judge the time." in said
    three = replace(REST, count_before=3)
    assert follow_up_text(came("line", three, rest=three), track).endswith(
        "; too few laps to rely on."
    )
    # Without a value on one side there is nothing to say of the feature.
    none = Difference(np.nan, np.nan, np.nan, np.nan, np.nan, 0, 0)
    assert "(Stile): allowing for" in follow_up_text(came("line", none), track)


def test_a_corner_the_track_has_not_is_called_by_its_number() -> None:
    assert what_and_where(WorthTrying(4, "line"), [STILE]) == "line at corner 4 (Stile)"
    assert what_and_where(WorthTrying(9, "minimum_speed"), [STILE]) == "minimum speed at corner 9"


def test_what_is_not_understood_is_said_with_how_to_write_it() -> None:
    said = not_understood(("softer bar", "corner 9"))
    assert said.startswith('Not understood under \'tried\': "softer bar", "corner 9". ')
    assert "Write one entry for each corner of this circuit, by number or name" in said
    assert "and one of braking, minimum speed, throttle, line" in said
    assert not_understood(()) == ""


def test_quotes_are_set_around_each_entry() -> None:
    assert quoted(["T4:  line", "corner 1"]) == '"T4: line"; "corner 1"'

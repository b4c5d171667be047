"""What two sessions together show: both figures, the pooled one, or why they are not pooled."""

from types import SimpleNamespace
from typing import cast

from lapwright.coaching.carried_on import CarriedOn, Seen
from lapwright.coaching.pooled import pooled
from lapwright.geometry import Corner, Track
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.wording.coaching.carried_on import carried_on_text

TRACK = cast(
    "Track", SimpleNamespace(corners=(Corner(4, "Long Barrow", "right", 100, 150, 200, 50.0),))
)
ITEM = WorthTrying(4, "minimum_speed")
THEN = Seen(0.26, 0.05, (1, 2, 3), (4, 5, 6))


def text(now: Seen, *differs: tuple[str, str, str]) -> str:
    both = None if differs else pooled([THEN.quicker_s, now.quicker_s], [THEN.sd_s, now.sd_s])
    one = CarriedOn(ITEM, THEN, now, both, differs)
    return carried_on_text(one, TRACK, "friday.csv")


def test_both_and_together() -> None:
    # Weights 400 and 100: (0.26 * 400 + 0.16 * 100) / 500 = 0.24, sd 500^-0.5 = 0.0447, 1.96 of it.
    assert text(Seen(0.16, 0.1, (7, 9, 12), (1, 2, 3))) == (
        "Corner 4 (Long Barrow), minimum speed: the quicker way of friday.csv was 0.26 s (sd 0.05 "
        "s) "
        "quicker then. Today's laps nearer to it (7, 9 and 12) were 0.16 s (sd 0.10 s) quicker. "
        "Both "
        "together: 0.24 s (0.15 to 0.33 s, 95 % interval)."
    )


def test_what_could_be_nothing_is_said_to_be() -> None:
    said = text(Seen(-0.3, 0.05, (7, 9, 12), (1, 2, 3)))
    assert "were 0.30 s (sd 0.05 s) slower." in said
    assert said.endswith("95 % interval), so it could be nothing.")


def test_other_tyres_are_named_and_nothing_is_pooled() -> None:
    said = text(Seen(0.16, 0.1, (7, 9, 12), (1, 2, 3)), ("tyres", "set 1, old", "set 2"))
    assert said.endswith(
        'The two are not put together: other tyres ("set 1, old" then, "set 2" now).'
    )
    assert "interval" not in said

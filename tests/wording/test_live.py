from typing import get_args

from lapwright.live_session.events import Event, Receiving
from lapwright.wording import live


def test_every_state_has_its_word() -> None:
    assert Receiving in get_args(Event)
    named = Receiving.__doc__ or ""
    states = named.split("state : {", 1)[1].split("}", 1)[0].replace("\n", " ").split(",")
    assert {state.strip().strip('"') for state in states} == set(live.STATES)


def test_ages_in_words() -> None:
    assert [live.age(s) for s in (0.4, 59.9, 60.0, 3725.0)] == [
        "0 s ago", "59 s ago", "1 min 0 s ago", "1 h 2 min ago",
    ]  # fmt: skip


def test_no_word_speaks_to_the_driver() -> None:
    assert "driver at speed" in live.CREW_ONLY
    assert "Not official timing" in live.SHORT_CAUTION

"""A short session with a pit stop, a gap in the log, and names that are hard to write."""

from dataclasses import replace

import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.session import Session

# What people call corners: mark-up, quotes, an arrow, another direction, more than fits.
NAMES = {
    1: "<b>Häfele</b> & „Söhne“", 2: "A --> B", 3: "עיקול הגשר", 4: "{\\an8}Long Barrow",
    5: "The very long bend behind the second of the two old water mills",
}  # fmt: skip


@pytest.fixture(scope="session")
def captioned(tmp_path_factory: pytest.TempPathFactory) -> World:
    """Two stints of two laps at 5 Hz; fixes are missing for 7 s on one of the laps."""
    receiver = replace(sim.ORDINARY, rate_hz=5.0, gaps=((330.0, 7.0),))
    folder = tmp_path_factory.mktemp("captioned")
    made = make_world(folder, sim.Plan((2, 2)), receiver=receiver, seed=5, repeat_line=False)
    track = made.session.shared_track.with_corner_names(NAMES)
    return replace(made, track=track, session=Session(made.log, track, repeat_line=False))

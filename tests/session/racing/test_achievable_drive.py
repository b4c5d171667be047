"""What a session's own laps add up to is kept, to the last bit."""

from dataclasses import replace
from pathlib import Path

import pytest
from worlds import make_world

from lapwright import simulate as sim
from lapwright.errors import LapError
from lapwright.kept import Store
from lapwright.kept.codec import encode
from lapwright.notes.weekend_notes import LogNotes
from lapwright.session import Session


def test_cold_warm_and_without_a_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    receiver = replace(sim.ORDINARY, rate_hz=5.0)
    world = make_world(
        tmp_path, sim.Plan((6,)), circuit=sim.invented(2186), receiver=receiver, seed=4
    )
    store = Store(tmp_path / "cache")
    bare = Session(world.log, world.track, cache=None).achievable
    cold = Session(world.log, world.track, cache=store)
    assert encode(cold.achievable) == encode(bare)
    cold.shelf.write()

    def again(*_: object) -> None:
        pytest.fail("this was kept, and is worked out again")

    monkeypatch.setattr("lapwright.session.racing.achievable_drive.achievable_lap", again)
    warm = Session(world.log, world.track, cache=store)
    assert encode(warm.achievable) == encode(bare)
    # What the notes say of the conditions is asked before what is kept.
    with pytest.raises(LapError, match="conditions changed"):
        _ = warm.with_notes(LogNotes(conditions="drying")).achievable

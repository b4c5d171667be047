"""With and without what is kept a session says the same, to the last bit; warm nothing is done."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.coaching.follow_up import what_came_of_it
from lapwright.coaching.worth_trying import Judgement
from lapwright.ingest import Log
from lapwright.kept import Store, kept_property
from lapwright.kept.codec import decode, encode
from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.session import Session

# All results that a session keeps by themselves, of its own and of the classes below it.
KEPT = sorted(
    name for kind in Session.__mro__ for name, what in vars(kind).items()
    if isinstance(what, kept_property)
)  # fmt: skip
ANSWERS: dict[str, Callable[[Session], Any]] = {
    "trace": lambda s: [s.trace(n) for n in s.timed_laps],
    "delta_sds": lambda s: s.delta_sds(s.timed_laps),
    "judgement": lambda s: s.judgement,
    "delta": lambda s: s.compare(2, 3).delta,
    "ledger": lambda s: (s.compare(2, 3).ledger, s.compare(2, 3).ledger_cov_s2),
    "causes": lambda s: (s.compare(2, 3).causes, s.compare(2, 3).causes_cov_s2),
    "passes beside": lambda s: s.compare(2, 3).passes,
    "coarse": lambda s: s.compare(2, 3, step_m=50.0).delta,
    "itself": lambda s: (s.compare(2, 2).delta, s.compare(2, 2).passes, s.compare(2, 2).causes),
    "came of it": lambda s: what_came_of_it(s, s, [WorthTrying(1, "minimum_speed")]),
    "motion": lambda s: [s.motion.at_fixes, s.motion.position_sd_m([50.0], np.eye(1, 2))],
}  # fmt: skip


@pytest.fixture(scope="module")
def pedals(tmp_path_factory: pytest.TempPathFactory) -> World:
    """Four laps at 5 Hz with the driver's own channels."""
    receiver = replace(sim.ORDINARY, rate_hz=5.0)
    return make_world(
        tmp_path_factory.mktemp("pedals"), sim.Plan((4,)), receiver=receiver, engine=True
    )


@pytest.fixture(scope="module")
def said(pedals: World) -> dict[str, bytes]:
    """All that a session says without a store."""
    bare = Session(pedals.log, pedals.track, cache=None)
    return {
        **{name: encode(getattr(bare, name)) for name in KEPT},
        **{name: encode(answer(bare)) for name, answer in ANSWERS.items()},
    }


@pytest.fixture(scope="module")
def stores(
    pedals: World, said: dict[str, bytes], tmp_path_factory: pytest.TempPathFactory
) -> tuple[Session, Store]:
    """A session without a store, and a store into which one has said the same."""
    bare = Session(pedals.log, pedals.track, cache=None)
    store = Store(tmp_path_factory.mktemp("cache"))
    cold = Session(pedals.log, pedals.track, cache=store)
    for name in KEPT:
        assert encode(getattr(cold, name)) == said[name], name
    for name, answer in ANSWERS.items():
        assert encode(answer(cold)) == said[name], name
    cold.shelf.write()
    return bare, store


@pytest.fixture
def nothing_is_done(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let whatever takes long fail."""
    for name in (
        "session.drive.estimate_motion", "session.drive.map_motion", "session.drive.find_cuts",
        "session.drive.complete_track", "session.drive.rough_motion",
        "session.lapped_drive.lap_table", "session.lapped_drive.lap_trace",
        "session.cornered_drive.corner_passes", "session.cornered_drive.gather_evidence",
        "session.session.judge", "session.session.causes", "coaching.follow_up.timed_passes",
    ):  # fmt: skip
        monkeypatch.setattr(f"lapwright.{name}", _not_again)


def _not_again(*_: object, **__: object) -> None:
    pytest.fail("this was kept, and is worked out again")


def test_every_result_is_among_them() -> None:
    assert {"laps", "findings", "passes", "evidence", "cuts", "noise", "driver"} <= {*KEPT}


@pytest.mark.usefixtures("nothing_is_done")
def test_warm_nothing_is_worked_out(
    pedals: World, stores: tuple[Session, Store], said: dict[str, bytes]
) -> None:
    store = stores[1]
    for name in KEPT:
        # A session of its own for each: whatever is asked first.
        warm = Session(pedals.log, pedals.track, cache=store)
        assert encode(getattr(warm, name)) == said[name], name
    for name, answer in ANSWERS.items():
        if name != "motion":
            warm = Session(pedals.log, pedals.track, cache=store)
            assert encode(answer(warm)) == said[name], name


def test_what_is_made_of_kept_results_is_the_same(
    pedals: World, stores: tuple[Session, Store], said: dict[str, bytes]
) -> None:
    # Numbers may round otherwise where arrays lie in memory in another way: of the log, of the
    # track, of whatever a result is made of.
    log, track = decode(encode((pedals.log, pedals.track)))
    warm = Session(log, track, cache=stores[1])
    for name in KEPT:
        assert encode(_maker_of(name)(warm)) == said[name], name
    traces = [warm._fresh_trace(n) for n in warm.timed_laps]
    assert encode(traces) == said["trace"]
    assert encode(warm._fresh_delta_sds(warm.timed_laps)) == said["delta_sds"]
    assert encode(warm._fresh_judgement()) == said["judgement"]
    assert encode(warm._passes_beside(2, warm, 3)) == said["passes beside"]
    assert encode(warm._causes_beside(2, warm, 3)) == said["causes"]


def _maker_of(name: str) -> Callable[[Session], Any]:
    made = next(vars(kind)[name] for kind in Session.__mro__ if name in vars(kind))
    assert isinstance(made, kept_property)
    return made.func


def test_tables_are_tables_with_all_that_makes_them(
    pedals: World, stores: tuple[Session, Store]
) -> None:
    bare, store = stores
    warm = Session(pedals.log, pedals.track, cache=store)
    tables = [name for name in KEPT if isinstance(getattr(bare, name), pd.DataFrame)]
    assert len(tables) >= 8
    for name in tables:
        one, other = getattr(warm, name), getattr(bare, name)
        # A NaN in a tuple is not equal even to itself; `encode` has compared those.
        plain = [column for column in other if other[column].dtype != object]
        pd.testing.assert_frame_equal(one[plain], other[plain], check_exact=True)
        assert one.dtypes.equals(other.dtypes)
        assert one.attrs == other.attrs
        assert type(one.index) is type(other.index)


def test_the_motion_is_the_same_and_its_noise_is_not_searched_for(
    pedals: World, stores: tuple[Session, Store], said: dict[str, bytes],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    store = stores[1]
    monkeypatch.setattr("lapwright.motion.estimate.estimate_noise", _not_again)
    monkeypatch.setattr("lapwright.motion.estimate.estimate_latency", _not_again)
    monkeypatch.setattr("lapwright.laps.repeated_line.driver_noise", _not_again)
    warm = Session(pedals.log, pedals.track, cache=store)
    assert encode(ANSWERS["motion"](warm)) == said["motion"]


@pytest.mark.parametrize("damage", ["flip", "cut", "empty", "gone"])
def test_damage_changes_nothing_either(
    pedals: World, stores: tuple[Session, Store], tmp_path: Path, damage: str
) -> None:
    bare, whole = stores
    for k, file in enumerate(sorted(whole.folder.iterdir())):
        data = bytearray(file.read_bytes())
        data[(len(data) * k // 7) % len(data)] ^= 1
        now = {"flip": bytes(data), "cut": bytes(data)[: len(data) // 2], "empty": b""}
        if damage != "gone":
            (tmp_path / file.name).write_bytes(now[damage])
    again = Session(pedals.log, pedals.track, cache=tmp_path)
    for name in ("laps", "findings", "passes", "driver"):
        assert encode(getattr(again, name)) == encode(getattr(bare, name)), name


def test_another_log_track_or_choice_is_another_question(
    pedals: World, stores: tuple[Session, Store]
) -> None:
    store = stores[1]
    log, track = pedals.log, pedals.track

    def about(log: Log = log, **options: Any) -> str:
        return Session(log, options.pop("track", track), cache=store, **options).shelf.about

    moved = log.fixes.assign(lat_deg=log.fixes["lat_deg"] + 1e-12)
    # One bit of one fix.
    fixes = log.fixes.copy()
    fixes.loc[7, "time_s"] = np.nextafter(fixes.loc[7, "time_s"], 1e9)
    found = [
        about(), about(replace(log, fixes=moved)), about(replace(log, fixes=fixes)),
        about(replace(log, channels=log.channels.iloc[:-1])), about(log.with_findings()),
        about(repeat_line=False), about(track=None), about(track=track.renamed("Another")),
        about(notes=LogNotes(first_lap=4)), about(replace(log, own_clock=not log.own_clock)),
    ]  # fmt: skip
    # One more finding is another log; none more is the same.
    assert found[4] == found[0]
    del found[4]
    assert len({*found}) == len(found)
    # The name of a file and what is noted of the day are not.
    assert about(replace(log, path=Path("elsewhere.csv"))) == found[0]
    assert about(notes=LogNotes(conditions="wet", driver="Ivo Marlen")) == found[0]


def test_what_depends_on_the_conditions_is_kept_for_each(
    pedals: World, stores: tuple[Session, Store], monkeypatch: pytest.MonkeyPatch
) -> None:
    none, store, asked = stores[0].judgement, stores[1], []

    def judged(*_: object, conditions: str, **__: object) -> Judgement:
        asked.append(conditions)
        return replace(none, clean_laps=len(conditions))

    monkeypatch.setattr("lapwright.session.session.judge", judged)
    for now in ("dry, then wet", "damp", "damp"):
        warm = Session(pedals.log, pedals.track, cache=store)
        assert warm.with_notes(LogNotes(conditions=now)).judgement.clean_laps == len(now)
        warm.shelf.write()
    assert asked == ["dry, then wet", "damp"]


def test_a_result_that_was_changed_is_not_kept_nor_what_follows(
    pedals: World, stores: tuple[Session, Store], tmp_path: Path
) -> None:
    spoilt = Session(pedals.log, pedals.track, cache=tmp_path)
    spoilt.laps.loc[:, "time_s"] = 60.0
    assert spoilt.theoretical_best is not None
    spoilt.shelf.write()
    again = Session(pedals.log, pedals.track, cache=tmp_path)
    assert encode(again.laps) == encode(stores[0].laps)
    assert again.theoretical_best == stores[0].theoretical_best


def test_two_sessions_of_one_log_err_apart_and_copies_with_notes_do_not(
    pedals: World, stores: tuple[Session, Store]
) -> None:
    bare, store = stores
    for cache in (None, store, store):
        one, other = (Session(pedals.log, pedals.track, cache=cache) for _ in range(2))
        apart = one.compare(2, 3, other)
        noted = one.with_notes(LogNotes(driver="Ivo Marlen"))
        together = one.compare(2, 3, noted)
        assert encode(together.delta) == encode(bare.compare(2, 3).delta)
        assert encode(together.passes) == encode(bare.compare(2, 3).passes)
        assert (together.reference_noted.notes.driver, together.noted.notes.driver) == (
            "Ivo Marlen", "",
        )  # fmt: skip
        assert apart.time_difference_sd_s != together.time_difference_sd_s
        one.shelf.write()

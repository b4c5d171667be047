"""What is gathered where no habit is shown, from the session's own tables."""

from types import SimpleNamespace
from typing import cast

import numpy as np
import pandas as pd
import pytest
from worlds import World

from lapwright.coaching.worth_trying import Judgement
from lapwright.kept import Shelf
from lapwright.notes.weekend_notes import LogNotes
from lapwright.session import Session
from lapwright.session.still_known import most_lost, most_varying, still_known

NAN = float("nan")


def test_of_a_few_laps(world: World) -> None:
    session = world.session
    known = still_known(session)
    assert known is not None
    assert known.clean_laps == len(session.clean_laps) == 5
    assert (known.lap, known.reference) == (session.typical_lap, session.best_lap)
    assert [one.why for one in known.needed] == ["few_laps"]
    assert known.needed[0].more == 1
    assert known.quicker == ()


def test_lost_are_the_greatest_of_the_causes(world: World) -> None:
    session = world.session
    causes = session.compare(session.typical_lap).causes.nlargest(2, "lost_s")
    lost = most_lost(session)
    assert [(one.where, one.cause) for one in lost] == list(
        zip(causes["corner"], causes["cause"], strict=True)
    )
    assert lost[0].lost_s == causes["lost_s"].iloc[0]
    # A corner with a spin in it is not spoken of.
    assert lost[0].where not in {one.where for one in most_lost(session, (lost[0].where,))}


def test_sector_lost_by_hand(world: World) -> None:
    session = world.session
    known = still_known(session)
    assert known is not None
    assert known.sector_lost is not None
    clean = session.laps[session.laps["representative"]].set_index("lap")
    times = np.array(list(clean["sectors_s"]))
    mine = np.array(clean.at[session.typical_lap, "sectors_s"])
    lost = mine - times.min(axis=0)
    assert known.sector_lost.where == 1 + int(np.argmax(lost))
    assert known.sector_lost.lost_s == pytest.approx(lost.max())
    # Surer than its two crossings alone: laps share most of their errors at a line.
    sds = np.array(list(clean["sector_sds_s"]))
    assert 0.0 < known.sector_lost.lost_sd_s < np.sqrt(2.0) * sds.max()


def test_corners_that_vary_most() -> None:
    table = pd.DataFrame(
        {
            "corner": [1, 2, 3, 4, 5], "laps": [6, 6, 6, 6, 2],
            "varies_s": [0.1, 0.3, 0.2, 0.4, NAN], "varies_low95_s": [0.05, 0.1, 0.1, 0.0, NAN],
            "varies_high95_s": [0.2, 0.5, 0.4, 0.6, NAN],
        }
    )  # fmt: skip
    # Corner 4 may be measuring alone, 5 has too few runs.
    assert [one.corner for one in most_varying(table)] == [2, 3]
    assert [one.corner for one in most_varying(table, (2,))] == [3, 1]


def test_where_conditions_changed_laps_are_not_compared(world: World) -> None:
    known = still_known(world.session.with_notes(LogNotes(conditions="wet, then drying")))
    assert known is not None
    assert known.changing
    assert (known.lap, known.lost, known.varies, known.quicker) == (None, (), (), ())
    times = world.session.laps.loc[world.session.laps["representative"], "time_s"].to_numpy()
    assert known.trend is not None
    assert known.trend.slope == pytest.approx(np.polyfit(np.arange(len(times)), times, 1)[0])


def stand_in(laps: pd.DataFrame, clean: list[int]) -> Session:
    track = SimpleNamespace(sectors=("one",))
    return cast(
        "Session",
        SimpleNamespace(
            laps=laps,
            clean_laps=clean,
            judgement=Judgement(),
            notes=LogNotes(),
            track=track,
            shelf=Shelf(None),
        ),
    )


def lap(number: int, *flags: str, clean: bool = False, sectors: "tuple[float, ...]" = (50.0, 45.0)
        ) -> dict[str, object]:  # fmt: skip
    return {
        "lap": number, "kind": "timed", "time_s": sum(sectors), "time_sd_s": 0.01,
        "flags": flags, "representative": clean, "sectors_s": sectors,
        "sector_sds_s": (0.02, 0.03),
    }  # fmt: skip


def test_no_clean_lap() -> None:
    laps = pd.DataFrame(
        [
            lap(1, "stop", sectors=(49.0, 90.0)), lap(2, "off_path", sectors=(40.0, 44.0)),
            lap(3, "spin", sectors=(60.0, 45.0)),
        ]
    )  # fmt: skip
    known = still_known(stand_in(laps, []))
    assert known is not None
    assert [(a.lap, a.flags) for a in known.aside] == [
        (1, ("stop",)), (2, ("off_path",)), (3, ("spin",))
    ]  # fmt: skip
    # Lap 2 left out part of the circuit, so none of its sectors is quick.
    assert [(s.sector, s.lap, s.time_s, s.time_sd_s) for s in known.sectors] == [
        (1, 1, 49.0, 0.02), (2, 3, 45.0, 0.03)
    ]  # fmt: skip


def test_one_clean_lap() -> None:
    laps = pd.DataFrame([lap(1, clean=True), lap(2, "stop")])
    known = still_known(stand_in(laps, [1]))
    assert known is not None
    assert [a.lap for a in known.aside] == [2]
    assert known.sectors == ()


def test_no_timed_lap() -> None:
    laps = pd.DataFrame([lap(1) | {"kind": "out", "time_s": NAN}])
    known = still_known(stand_in(laps, []))
    assert known is not None
    assert (known.aside, known.sectors) == ((), ())


def test_where_there_is_something_worth_trying(world: World) -> None:
    habit = SimpleNamespace()
    session = stand_in(world.session.laps, [1, 2])
    found = SimpleNamespace(**{**vars(session), "judgement": SimpleNamespace(habits=(habit,))})
    assert still_known(cast("Session", found)) is None

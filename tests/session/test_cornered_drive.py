"""A corner that is not slowed for: it has its runs, and what shows them copes without points."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from worlds import World, make_world

import lapwright as lw
from lapwright import simulate as sim
from lapwright.cli.corners import corner_lines
from lapwright.cli.printing.json_out import plain
from lapwright.cli.printing.objects import pass_objects
from lapwright.geometry import Corner
from lapwright.report.cards import corner_cards
from lapwright.report.report_data import gather
from lapwright.session import Session
from lapwright.units import Units

# On the straight between corners 2 and 3 of Wren Hollow, which end at 640 and begin at 1065 m; the
# car pulls all the way from the one to its braking point, at 950 m.
_KINK = Corner(3, "3", "left", entry_m=760.0, apex_m=800.0, exit_m=840.0, radius_m=200.0)
_NOTHING = [
    "min_speed_mps", "min_speed_sd_mps", "min_speed_s", "min_speed_station_m",
    "min_speed_station_sd_m", "min_speed_lat_deg", "min_speed_lon_deg", "lift_s", "lift_station_m",
    "brake_s", "brake_station_m", "brake_sd_m", "brake_lat_deg", "turn_in_station_m",
    "turn_in_station_sd_m", "turn_in_offset_m", "turn_in_aside_m", "throttle_s",
    "throttle_station_m", "throttle_sd_m", "radius_driven_m", "radius_driven_sd_m",
    "peak_decel_sd_mps2",
]  # fmt: skip


@pytest.fixture(scope="module")
def sessions(tmp_path_factory: pytest.TempPathFactory) -> tuple[Session, Session]:
    """The same log on the circuit as it is, and with a kink that nobody lifts for."""
    session = make_world(tmp_path_factory.mktemp("flat"), sim.Plan((7,)), seed=3).session
    corners = session.track.corners
    more = [*corners[:2], _KINK, *(replace(c, order=c.order + 1) for c in corners[2:])]
    return session, Session(session.log, replace(session.track, corners=tuple(more)))


@pytest.fixture(scope="module")
def session(sessions: tuple[Session, Session]) -> Session:
    return sessions[1]


def test_the_kink_has_its_runs_without_points(session: Session) -> None:
    kink = session.passes[session.passes["corner"] == 3]
    assert kink["lap"].tolist() == session.timed_laps
    assert kink["flat"].all()
    assert kink[_NOTHING].isna().all(axis=None)
    there = ["entry_speed_mps", "exit_speed_mps", "time_s", "time_sd_s", "apex_aside_m",
             "entry_speed_sd_mps", "exit_speed_sd_mps", "peak_lateral_mps2"]  # fmt: skip
    assert kink[there].notna().all(axis=None)
    assert (kink["exit_speed_mps"] > kink["entry_speed_mps"]).all()


def test_the_other_corners_are_the_same(sessions: tuple[Session, Session]) -> None:
    without, session = (s.bare_passes for s in sessions)
    rest = session[session["corner"] != 3]
    # Fitted to the log anew, a circuit lies a little elsewhere: by centimetres here.
    for name in ("min_speed_mps", "brake_station_m", "turn_in_station_m", "throttle_station_m"):
        np.testing.assert_allclose(rest[name], without[name], atol=0.5)
    assert not rest["flat"].any()


def test_terminal_and_page_say_so_in_words(session: Session) -> None:
    lines = "\n".join(corner_lines(session, Units())).splitlines()
    kink = next(line for line in lines if line.startswith(" 3 "))
    assert kink.count("no lift") == 2
    assert max(len(line) for line in lines) <= 80
    assert "no lift: the car did not slow for the corner" in lines
    cards = corner_cards(gather(session), Units(), pictures=False)
    cells = [dict(zip([c.head for c in cards[2].columns], row.cells, strict=True))
             for row in cards[2].rows]  # fmt: skip
    assert {row["minimum speed"] for row in cells} == {"no lift"}
    assert {row["throttle past apex"] for row in cells} == {"\N{EN DASH}"}
    assert "No lift here on any clean lap." in cards[2].says
    assert not any("without braking" in said for said in cards[2].says)
    assert all("no lift" not in row.cells for row in cards[3].rows)


def test_everything_is_written_and_nothing_is_advised_for_it(
    session: Session, tmp_path: Path
) -> None:
    lw.report.write_html(session, tmp_path / "page.html")
    lw.report.write_pdf(session, tmp_path / "paper.pdf")
    assert "no lift" in (tmp_path / "page.html").read_text(encoding="utf-8")
    lw.report.write_tables(session, tmp_path / "tables")
    table = pd.read_csv(tmp_path / "tables" / "passes.csv")
    assert table.loc[table["corner"] == 3, "flat"].all()
    rows = json.loads(json.dumps(plain(pass_objects(session)), allow_nan=False))
    assert {row["min_speed_mps"] for row in rows if row["corner"] == 3} == {None}
    assert session.worth_trying is not None
    assert 3 not in {item.corner for item in session.worth_trying}
    grip = session.grip.corners.set_index("corner")
    assert grip.loc[3].isna().all()
    assert grip.loc[4].notna().all()


def test_what_compares_laps_and_sessions_copes(session: Session) -> None:
    best, other = session.timed_laps[1], session.timed_laps[3]
    found = session.compare(other, best)
    assert np.isclose(found.causes["lost_s"].sum(), found.time_difference_s, atol=1e-6)
    side = found.passes.set_index("corner")
    assert bool(side.loc[3, "flat"])
    assert np.isnan(side.loc[3, "difference_min_speed_mps"])
    assert np.isfinite(side.loc[3, "difference_time_sd_s"])
    items = [lw.WorthTrying(3, "minimum_speed"), lw.WorthTrying(4, "braking")]
    kink, _ = came = lw.what_came_of_it(session, session, items)
    assert np.isnan(kink.feature.difference)
    assert kink.time.difference == 0.0
    assert all(lw.follow_up_text(one, session.track) for one in came)


def test_error_bars_of_some_corners_alone_are_those_of_the_whole_table(world: World) -> None:
    whole = world.session
    alone = Session(world.log, world.track)
    for columns in (["brake_sd_m"], ["min_speed_station_sd_m", "apex_aside_sd_m", "brake_sd_m"]):
        some = alone.evidence.with_bars([2, 4], columns)
        assert "passes" not in alone.__dict__
        same = whole.passes.merge(some[["lap", "corner"]], on=["lap", "corner"])
        assert len(same) == len(some) > 2
        # The same posteriors of fewer numbers at once: equal but for rounding.
        assert some[columns].notna().any().all()
        np.testing.assert_allclose(some[columns], same[columns], rtol=1e-9)
    # Once the table is there, they come from it.
    alone.passes = alone.passes.assign(brake_sd_m=7.0)
    assert (alone.evidence.with_bars([2], ["brake_sd_m"])["brake_sd_m"] == 7.0).all()

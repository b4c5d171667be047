"""Laps: kinds, numbers, times against a simulated truth, flags."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from worlds import World, make_world

from lapwright import simulate as sim
from lapwright.errors import LogError
from lapwright.laps import lap_table as module
from lapwright.laps.cutting import cuts as cuts_module
from lapwright.laps.cutting.pit_stretches import PitStretch
from lapwright.session import Session


def test_lap_and_sector_times_agree_with_the_truth_within_their_error_bars(world: World) -> None:
    pairs = world.paired()
    pairs = pairs[pairs["kind"] == "timed"]
    assert len(pairs) == 5
    z = (pairs["time_s"] - pairs["time_s_true"]) / pairs["time_sd_s"]
    # Five laps: a root mean square of 2 has a chance of one in a thousand.
    assert np.sqrt((z**2).mean()) < 2.0
    # And the bars are worth having: an ordinary receiver, 10 Hz, Doppler.
    assert pairs["time_sd_s"].max() < 0.02


def test_sectors_sum_to_the_lap(world: World) -> None:
    laps = world.session.laps.dropna(subset=["time_s"])
    for _, row in laps.iterrows():
        assert sum(row["sectors_s"]) == pytest.approx(row["time_s"], abs=1e-6)
        assert len(row["sectors_s"]) == len(world.track.sectors) + 1


def test_the_95_percent_interval_holds_the_time_and_is_wider_than_the_bar(world: World) -> None:
    laps = world.session.laps.dropna(subset=["time_s"])
    assert (laps["time_low95_s"] < laps["time_s"]).all()
    assert (laps["time_high95_s"] > laps["time_s"]).all()
    half = 0.5 * (laps["time_high95_s"] - laps["time_low95_s"])
    # A mixture of normals has tails at least as heavy as one: 1.96 sd or more.
    assert (half > 1.9 * laps["time_sd_s"]).all()


def test_the_leading_out_lap_is_lap_0_and_laps_follow_in_order(world: World) -> None:
    laps = world.session.laps
    assert laps["lap"].tolist() == list(range(len(laps)))
    assert laps["kind"].iloc[0] == "out"
    assert laps["kind"].iloc[-1] == "in"


def test_pit_stop_splits_into_in_and_out_and_is_never_timed(pit_world: World) -> None:
    kinds = pit_world.session.laps["kind"].tolist()
    assert kinds.count("timed") == 4
    middle = kinds[1:-1]
    assert "in" in middle
    assert middle[middle.index("in") + 1] == "out"


def test_best_lap_is_the_fastest_timed_one(world: World) -> None:
    laps = world.session.laps
    timed = laps[laps["kind"] == "timed"]
    assert world.session.best_lap == timed.loc[timed["time_s"].idxmin(), "lap"]


def test_theoretical_best_is_no_slower_than_the_best_lap(world: World) -> None:
    total = world.session.theoretical_best
    assert total is not None
    assert total[0] <= world.session.row(world.session.best_lap)["time_s"] + 1e-9
    assert total[1] > 0.0


def test_standing_start_counts_from_the_line(tmp_path: Path) -> None:
    world = make_world(tmp_path, sim.Plan((2,), start="grid"), seed=9, repeat_line=False)
    laps = world.session.laps
    first = laps[laps["kind"] == "timed"].iloc[0]
    assert "standing_start" in first["flags"]
    assert first["time_from_launch_s"] > first["time_s"]
    launch = world.run.launch_s - world.zero_s
    truth = first["end_s"] - launch
    # The launch is the last moment below walking pace, half a second before anything shows.
    assert first["time_from_launch_s"] == pytest.approx(truth, abs=1.0)


def test_a_log_switched_on_at_the_grid_has_its_standing_start(tmp_path: Path) -> None:
    world = make_world(tmp_path, sim.Plan((2,), start="grid"), seed=9, repeat_line=False)
    log, launch = world.log, world.run.launch_s - world.zero_s
    kept = log.fixes[log.fixes["time_s"] > launch - 15.0].reset_index(drop=True)
    session = Session(replace(log, fixes=kept), world.track, repeat_line=False)
    first = session.laps[session.laps["kind"] == "timed"].iloc[0]
    assert "standing_start" in first["flags"]
    assert first["time_from_launch_s"] == pytest.approx(first["end_s"] - launch, abs=1.0)


def test_a_late_speed_is_a_finding(tmp_path: Path) -> None:
    late = replace(sim.ORDINARY, latency_s=0.1)
    world = make_world(tmp_path, sim.Plan((2,)), receiver=late, repeat_line=False)
    finding = world.session.findings[-1]
    assert finding.code == "speed_delay"
    found = re.search(r"is (\S+) ± (\S+) s behind the positions", finding.message)
    assert found is not None
    delay_s, sd_s = map(float, found.groups())
    assert abs(delay_s - 0.1) < 3.0 * sd_s
    assert sd_s < 0.01
    world = make_world(tmp_path, sim.Plan((2,)), repeat_line=False)
    assert world.session.findings == world.log.findings


@pytest.mark.parametrize(
    ("event", "flag"),
    [
        (sim.Spin(timed_lap=2, corner=4), "stop"),
        (sim.Spin(timed_lap=2, corner=4), "spin"),
        (sim.Off(timed_lap=2, corner=4, wide_m=15.0), "off_path"),
        (sim.ShortCut(timed_lap=2, corner=8), "off_path"),
        (sim.Traffic(timed_lap=2), "slow"),
    ],
)
def test_mishaps_are_flagged_and_add_no_laps(tmp_path: Path, event: object, flag: str) -> None:
    world = make_world(tmp_path, sim.Plan((4,), events=(event,)), seed=3, repeat_line=False)
    timed = world.session.laps[world.session.laps["kind"] == "timed"]
    assert len(timed) == 4
    assert flag in timed.iloc[1]["flags"]
    assert not timed.iloc[1]["representative"]
    assert timed.iloc[0]["flags"] == ()


def test_a_spin_over_the_line_adds_no_lap(tmp_path: Path) -> None:
    spin = sim.Spin(timed_lap=2, station_m=2.0, roll_back_m=6.0)
    world = make_world(tmp_path, sim.Plan((3,), events=(spin,)), seed=4, repeat_line=False)
    assert (world.session.laps["kind"] == "timed").sum() == 3


def test_a_gap_across_the_line_is_bridged_and_widens_the_bar(tmp_path: Path) -> None:
    clean = make_world(tmp_path, sim.Plan((3,)), seed=6, repeat_line=False)
    crossing = clean.session.laps[clean.session.laps["kind"] == "timed"]["end_s"].iloc[0]
    fixes = clean.log.fixes
    cut = fixes[~fixes["time_s"].between(crossing - 2.5, crossing + 2.5)].reset_index(drop=True)
    laps = Session(replace(clean.log, fixes=cut), clean.track, repeat_line=False).laps
    timed = laps[laps["kind"] == "timed"].reset_index(drop=True)
    before = clean.session.laps[clean.session.laps["kind"] == "timed"].reset_index(drop=True)
    assert timed["flags"][0] == ("bridged",)
    assert timed["representative"][0]
    assert timed["time_sd_s"][0] > 1.5 * before["time_sd_s"][0]
    pairs = clean.paired()
    truth = pairs[pairs["kind"] == "timed"]["time_s_true"].iloc[0]
    assert abs(timed["time_s"][0] - truth) < 3.0 * timed["time_sd_s"][0]


def test_a_log_that_dies_on_the_track_says_so(world: World) -> None:
    fixes = world.log.fixes
    start = world.session.laps[world.session.laps["kind"] == "timed"]["start_s"].iloc[-1]
    cut = fixes[fixes["time_s"] < start + 40.0]
    laps = Session(replace(world.log, fixes=cut), world.track, repeat_line=False).laps
    assert laps["kind"].iloc[-1] == "in"
    assert "log_ends" in laps["flags"].iloc[-1]
    assert not laps["complete"].iloc[-1]


def test_no_passage_lies_behind_the_log(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    session = world.session
    real = cuts_module.crossing_posterior

    def late(*arguments):
        posterior = real(*arguments)
        return posterior.shifted(np.full(len(posterior.mean), 1e4))

    monkeypatch.setattr(cuts_module, "crossing_posterior", late)
    cuts = cuts_module.find_cuts(session.track, session.motion, session.mapped)
    assert cuts.passages["time_s"].max() <= session.motion.end_s


def test_a_car_that_stays_in_the_pit_lane_has_no_lap(world: World) -> None:
    session = Session(world.log, world.session.track, repeat_line=False)
    motion, cuts = session.motion, session.cuts
    whole = PitStretch(motion.start_s, motion.end_s, motion.start_s, stands=True)
    nowhere = replace(
        cuts, passages=cuts.passages[:0], sectors=cuts.sectors[:0], index=cuts.index[:0],
        pits=(whole,),
    )  # fmt: skip
    table = module.lap_table(session.track, motion, session.mapped, nowhere)
    assert table.empty
    # The same columns as with laps, or whatever reads them next breaks.
    assert set(table) == set(world.session.laps)
    session.__dict__["cuts"] = nowhere
    with pytest.raises(LogError, match="stayed in the pit lane, so there is no lap"):
        _ = session.laps

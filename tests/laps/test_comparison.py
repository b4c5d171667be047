"""Delta and ledger: exact identities, and agreement with a simulated truth."""

import numpy as np
import pytest
from worlds import World

from lapwright.errors import LapError
from lapwright.session import Session


def timed(world: World) -> list[int]:
    laps = world.session.laps
    return laps.loc[laps["kind"] == "timed", "lap"].tolist()


def test_a_lap_against_itself_is_exactly_zero(world: World) -> None:
    lap = timed(world)[1]
    comparison = world.session.compare(lap, lap)
    assert (comparison.delta["delta_s"] == 0.0).all()
    assert (comparison.delta["delta_sd_s"] == 0.0).all()
    assert (comparison.ledger["difference_s"] == 0.0).all()
    assert comparison.time_difference_s == 0.0


def test_delta_begins_at_zero_and_ends_at_the_difference_of_the_lap_times(world: World) -> None:
    a, b = timed(world)[:2]
    comparison = world.session.compare(a, b)
    times = world.session.laps.set_index("lap")["time_s"]
    assert comparison.delta["delta_s"].iloc[0] == 0.0
    # 1e-6 s is the design's own tolerance.
    assert comparison.delta["delta_s"].iloc[-1] == pytest.approx(times[a] - times[b], abs=1e-6)
    assert comparison.delta["station_m"].iloc[-1] == world.session.track.length_m


def test_swapping_the_laps_flips_every_sign(world: World) -> None:
    a, b = timed(world)[:2]
    one, other = world.session.compare(a, b), world.session.compare(b, a)
    np.testing.assert_allclose(one.delta["delta_s"], -other.delta["delta_s"], atol=1e-12)
    np.testing.assert_allclose(one.delta["delta_sd_s"], other.delta["delta_sd_s"], rtol=1e-6)
    np.testing.assert_allclose(
        one.ledger["difference_s"], -other.ledger["difference_s"], atol=1e-12
    )
    assert (one.ledger[["corner", "stretch"]] == other.ledger[["corner", "stretch"]]).all().all()


def test_the_ledger_sums_to_the_difference_and_tiles_the_lap(world: World) -> None:
    a, b = timed(world)[-2:]
    comparison = world.session.compare(a, b)
    ledger = comparison.ledger
    assert ledger["difference_s"].sum() == pytest.approx(comparison.time_difference_s, abs=1e-6)
    assert (ledger["end_m"] - ledger["start_m"]).sum() == pytest.approx(
        world.session.track.length_m, abs=1e-6
    )
    assert set(ledger["stretch"]) == {"braking", "entry", "exit", "straight"}
    # A straight holds the line on this circuit: it gives two rows, the first of no corner.
    assert ledger["corner"].value_counts().to_dict() == {0: 1, **dict.fromkeys(range(1, 11), 4)}


def test_delta_agrees_with_the_truth_within_its_error_bar(world: World) -> None:
    pairs = world.paired()
    pairs = pairs[pairs["kind"] == "timed"]
    reference = pairs.iloc[0]
    station = np.linspace(0.0, 1.0, 21)[1:]
    z = []
    for _, row in pairs.iloc[1:].iterrows():
        mine = world.session.compare(int(row["lap"]), int(reference["lap"])).delta
        share = mine["station_m"] / mine["station_m"].iloc[-1]
        true = world.run.delta(
            int(row["lap_true"]), int(reference["lap_true"]), station * world.run.circuit.length_m
        )
        error = np.interp(station, share, mine["delta_s"]) - true
        z.append(error / np.interp(station, share, mine["delta_sd_s"]))
    # Some eighty strongly correlated values: their rms is 1 give or take a half.
    assert 0.3 < np.sqrt(np.mean(np.square(z))) < 1.8


def test_two_sessions_on_one_track(world: World, pit_world: World) -> None:
    complete = world.session.track
    other = Session(pit_world.log, complete)
    laps = other.laps
    lap = int(laps.loc[laps["kind"] == "timed", "lap"].iloc[0])
    reference = timed(world)[0]
    comparison = other.compare(lap, reference, other=world.session)
    expected = other.row(lap)["time_s"] - world.session.row(reference)["time_s"]
    assert comparison.time_difference_s == pytest.approx(expected, abs=1e-6)
    assert comparison.ledger["difference_s"].sum() == pytest.approx(expected, abs=1e-6)
    # The other day's place on the track is unsure, which one session's comparisons are not.
    within = world.session.compare(timed(world)[1], reference)
    assert comparison.delta["delta_sd_s"].max() > within.delta["delta_sd_s"].max()


def test_sessions_on_different_tracks_are_refused(world: World, pit_world: World) -> None:
    with pytest.raises(LapError, match="different tracks"):
        pit_world.session.compare(2, 2, other=world.session)


def test_a_lap_that_is_not_there_is_refused_with_the_ones_that_are(world: World) -> None:
    with pytest.raises(LapError, match=r"no lap 99; the laps are 0, 1, 2"):
        world.session.compare(99, timed(world)[0])


def test_a_lap_without_times_is_refused(world: World) -> None:
    last_in = int(world.session.laps["lap"].iloc[-1])
    with pytest.raises(LapError, match="is not a full lap"):
        world.session.compare(last_in, timed(world)[0])

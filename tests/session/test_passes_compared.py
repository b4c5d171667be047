"""Two laps' passes side by side: exact identities, and error bars that hold."""

import numpy as np
import pandas as pd
import pytest
from worlds import World

from lapwright.session import Session


def quantities(table: pd.DataFrame) -> list[str]:
    names = [c.removeprefix("difference_") for c in table if c.startswith("difference_")]
    assert {"time_s", "min_speed_mps", "brake_to_corner_m", "apex_offset_m"} <= set(names)
    assert not {"lap", "entry_s", "brake_s", "brake_lat_deg"} & set(names)
    return names


@pytest.fixture(scope="module")
def other(world: World, pit_world: World) -> Session:
    """Another day on the same circuit."""
    return Session(pit_world.log, world.session.shared_track)


def test_a_lap_against_itself_differs_by_nothing(world: World) -> None:
    lap = world.session.timed_laps[1]
    table = world.session.compare(lap, lap).passes
    corners = world.session.corners
    assert list(table["corner"]) == list(corners["corner"])
    assert list(table["name"]) == list(corners["name"])
    for name in quantities(table):
        known = table[name].notna()
        assert (table.loc[known, f"difference_{name}"] == 0.0).all(), name
        assert known.any(), name


def test_swapping_the_laps_flips_signs_and_keeps_bars(world: World) -> None:
    a, b = world.session.timed_laps[:2]
    one, two = world.session.compare(a, b).passes, world.session.compare(b, a).passes
    for name in quantities(one):
        sign = 1.0 if "_sd_" in name else -1.0
        np.testing.assert_allclose(
            one[f"difference_{name}"], sign * two[f"difference_{name}"], rtol=1e-9
        )
        np.testing.assert_array_equal(one[name], two[f"reference_{name}"])
    assert (one["difference_time_s"] != 0.0).all()


def test_both_sides_are_those_of_the_table_of_passes(world: World, other: Session) -> None:
    lap, reference = other.timed_laps[0], world.session.timed_laps[2]
    table = other.compare(lap, reference, other=world.session).passes.set_index("corner")
    for passes, number, prefix in (
        (other.passes, lap, ""), (world.session.passes, reference, "reference_")
    ):  # fmt: skip
        rows = passes[passes["lap"] == number].set_index("corner")
        for name in ("time_s", "time_sd_s", "min_speed_mps", "brake_station_m", "brake_source"):
            shown = table.loc[rows.index, f"{prefix}{name}"].rename(name)
            pd.testing.assert_series_equal(shown, rows[name])


def test_the_place_of_another_day_is_in_the_bars_of_places_alone(
    world: World, other: Session
) -> None:
    lap, reference = other.timed_laps[0], world.session.timed_laps[2]
    table = other.compare(lap, reference, other=world.session).passes
    for name, least in (
        ("time_sd_s", 1.0), ("brake_station_sd_m", 1.0), ("min_speed_station_sd_m", 1.0),
        ("apex_offset_sd_m", 1.0), ("turn_in_offset_sd_m", 1.0), ("min_speed_sd_mps", 0.0),
        ("exit_speed_sd_mps", 0.0), ("peak_decel_sd_mps2", 0.0),
    ):  # fmt: skip
        apart = table[f"difference_{name}"]
        root = np.hypot(table[name], table[f"reference_{name}"])
        known = apart.notna()
        if least:
            assert (apart[known] > root[known]).all(), name
        else:
            np.testing.assert_allclose(apart[known], root[known], rtol=1e-12)


def test_differences_are_the_true_ones_within_their_error_bars(world: World) -> None:
    pairs = world.paired()
    pairs = pairs[pairs["kind"] == "timed"]
    reference, corners = pairs.iloc[0], world.session.corners
    scale = world.run.circuit.length_m / world.session.track.length_m

    def true_times(lap: int) -> np.ndarray:
        ends = (
            world.run.elapsed(lap, scale * corners[c].to_numpy()) for c in ("exit_m", "entry_m")
        )
        return np.subtract(*ends)

    z = []
    for _, row in pairs.iloc[1:].iterrows():
        table = world.session.compare(int(row["lap"]), int(reference["lap"])).passes
        true = true_times(int(row["lap_true"])) - true_times(int(reference["lap_true"]))
        z += list((table["difference_time_s"] - true) / table["difference_time_sd_s"])
    # Forty values, strongly correlated, all against one lap: their rms is 1 give or take a half.
    # As if the laps erred independently it would be 0.3.
    assert len(z) == 40
    assert 0.5 < np.sqrt(np.mean(np.square(z))) < 1.5


def test_the_bar_of_a_corners_time_is_that_of_the_ledger(world: World) -> None:
    a, b = world.session.timed_laps[:2]
    comparison = world.session.compare(a, b)
    passes, ledger = comparison.passes.set_index("corner"), comparison.ledger
    for corner in passes.index:
        rows = (ledger["corner"] == corner) & ledger["stretch"].isin(["entry", "exit"])
        pick = rows.to_numpy(dtype=float)
        sd = np.sqrt(pick @ comparison.ledger_cov_s2 @ pick)
        # The ledger averages over how large the noise may be, the passes take the likeliest.
        assert passes.loc[corner, "difference_time_sd_s"] == pytest.approx(sd, rel=0.1)


def test_what_two_laps_share_is_not_in_the_bar_of_their_speeds(world: World) -> None:
    a, b = world.session.timed_laps[:2]
    table = world.session.compare(a, b).passes
    for name in ("entry_speed", "exit_speed", "min_speed"):
        apart, mine, other = (
            table[f"{one}{name}_sd_mps"].to_numpy() for one in ("difference_", "", "reference_")
        )
        # A slow error of the velocity is the same a lap later; here it is small.
        share = apart / np.hypot(mine, other)
        assert 0.9 < np.median(share) < 1.0


def test_the_line_across_is_unsure_by_the_place_of_the_session_across(
    world: World, other: Session
) -> None:
    lap, reference = other.timed_laps[0], world.session.timed_laps[2]
    table = other.compare(lap, reference, other=world.session).passes.set_index("corner")
    cov = other.placing.cov_m2 + world.session.placing.cov_m2
    path = world.session.track.path
    for corner in world.session.track.corners:
        heading = path.at(np.array([corner.apex_m])).heading_rad[0]
        left = np.array([-np.sin(heading), np.cos(heading)])
        row = table.loc[corner.order]
        var = sum(row[f"{one}apex_offset_sd_m"] ** 2 for one in ("", "reference_"))
        assert row["difference_apex_offset_sd_m"] ** 2 == pytest.approx(var + left @ cov @ left)

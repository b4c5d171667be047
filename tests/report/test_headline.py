"""The five points, and what is said of the corners they name."""

from dataclasses import replace
from html import unescape

import numpy as np
import pytest

from lapwright.notes.weekend_notes import LogNotes
from lapwright.notes.worth_trying_item import WorthTrying
from lapwright.report.headline import (
    corner_name,
    corner_sums,
    five_lines,
    how_sure,
    most_lost,
    only_between_two,
    said_corner,
    stretch_difference,
    worth,
)
from lapwright.report.html.page import html
from lapwright.report.other_words import other_words
from lapwright.report.report_data import ReportData
from lapwright.units import Units
from lapwright.wording.cautions import CAUTIONS, OTHER_CAR


def with_clean(material: ReportData, *laps: int | None) -> ReportData:
    """The same, with these laps clean and no others."""
    return replace(
        material,
        laps=material.laps.assign(representative=material.laps["lap"].isin(laps)),
        spans=material.spans[material.spans["lap"].isin(laps)],
        worth_trying=(),
    )


def with_lost(material: ReportData, lost: dict[int, tuple[float, float]]) -> ReportData:
    """The same, with nothing lost or gained but these times, by the minimum speed, and sds."""
    c = material.comparison
    assert c is not None
    value, var = np.zeros(len(c.causes)), np.zeros(len(c.causes))
    for corner, (time_s, sd_s) in lost.items():
        row = (c.causes["corner"] == corner) & (c.causes["cause"] == "minimum")
        value[row.to_numpy()], var[row.to_numpy()] = time_s, sd_s**2
    causes = c.causes.assign(lost_s=value, lost_sd_s=np.sqrt(var))
    passes = c.passes.assign(difference_min_speed_mps=-1.0, difference_min_speed_sd_mps=0.1)
    made = replace(c, causes_of=lambda: (causes, np.diag(var)), passes_of=lambda: passes)
    return replace(material, comparison=made)


def test_most_lost_is_the_worst_two_of_what_is_clear(material: ReportData) -> None:
    lost = {3: (0.2, 0.01), 5: (0.5, 0.01), 6: (0.3, 0.01), 7: (-0.9, 0.01)}
    assert most_lost(with_lost(material, lost)) == [5, 6]
    # Twice its error bar is not more than twice.
    assert most_lost(with_lost(material, {3: (0.0201, 0.01), 5: (0.0199, 0.01)})) == [3]
    assert most_lost(with_lost(material, {7: (-0.5, 0.01)})) == []
    said = five_lines(with_lost(material, lost), Units())[3]
    assert said.endswith(
        "most was lost at corner 5, 0.500 ± 0.010 s, most of it around the slowest point: minimum "
        "speed 3.6 km/h lower (± 0.4); and at corner 6, 0.300 ± 0.010 s, most of it around the "
        "slowest point: minimum speed 3.6 km/h lower (± 0.4)."
    )
    c = material.comparison
    assert c is not None
    assert f"(lap {c.lap}) was {c.time_difference_s:.3f} ± " in said
    nothing = five_lines(with_lost(material, {}), Units())[3]
    assert "most was lost" not in nothing
    assert nothing.endswith("slower than the best.")
    bar = float(nothing.partition(" ± ")[2].partition(" s")[0])
    assert bar == pytest.approx(c.time_difference_sd_s, abs=6e-4)


def test_sums_of_the_ledger_know_what_their_parts_share(material: ReportData) -> None:
    c = material.comparison
    assert c is not None
    ledger = c.ledger.reset_index(drop=True)
    found = {corner: (value, sd) for corner, value, sd in corner_sums(material)}
    assert set(found) == set(ledger["corner"])
    for corner, (value, sd) in found.items():
        rows = list(ledger.index[ledger["corner"] == corner])
        assert value == pytest.approx(sum(ledger["difference_s"][k] for k in rows))
        # Of a sum: every variance, and every covariance twice.
        var = sum(c.ledger_cov_s2[i, j] for i in rows for j in rows)
        assert sd == pytest.approx(var**0.5)
    # The straight that holds the line is two rows of the ledger, the first of no corner.
    last = int(ledger["corner"].iloc[-1])
    rows = list(ledger.index[(ledger["corner"] == last) & (ledger["stretch"] == "straight")])
    assert len(rows) == 1
    assert (ledger["corner"][0], ledger["stretch"][0]) == (0, "straight")
    straight = stretch_difference(material, last, "straight")
    assert straight is not None
    assert straight[0] == pytest.approx(ledger["difference_s"][rows].sum())
    var = c.ledger_cov_s2[np.ix_(rows, rows)].sum()
    assert straight[1] == pytest.approx(var**0.5)
    # A stretch without any length is none, and neither is one that is not compared.
    flat = ledger[(ledger["end_m"] - ledger["start_m"]) <= 0.0].iloc[0]
    assert stretch_difference(material, int(flat["corner"]), flat["stretch"]) is None
    alone = replace(material, comparison=None)
    assert stretch_difference(alone, last, "straight") is None
    assert corner_sums(alone) == []


def test_laps_set_aside_are_named_with_why(material: ReportData) -> None:
    assert five_lines(material, Units())[0].endswith("20 of them clean.")
    laps = material.laps.copy()
    for lap, flags in ((2, ("off_path",)), (4, ()), (6, ("slow", "gap"))):
        laps.at[laps.index[laps["lap"] == lap][0], "flags"] = flags
    laps["representative"] &= ~laps["lap"].isin([2, 4, 6])
    said = five_lines(replace(material, laps=laps), Units())[0]
    assert said.startswith("20 timed laps of ")
    assert said.endswith(
        ", 17 of them clean (lap 2: off the usual line; lap 4: off the pace; "
        "lap 6: slow, gap in the log)."
    )
    for count, more in ((4, False), (5, True)):
        laps["representative"] = (laps["kind"] == "timed") & (laps["lap"] > count)
        said = five_lines(replace(material, laps=laps), Units())[0]
        assert said.count("; lap ") == 3
        assert said.endswith("; ...).") == more


def test_laps_within_two_sd_of_the_best_are_too_close_to_call(material: ReportData) -> None:
    laps = material.laps.assign(gap_sd_s=0.01, gap_s=1.0)
    assert "too close" not in five_lines(replace(material, laps=laps), Units())[1]
    assert material.best is not None
    laps.loc[laps["lap"] == material.best, ["gap_s", "gap_sd_s"]] = 0.0
    for lap, gap_s in ((3, 0.0199), (5, -0.0199), (7, 0.0201), (9, 0.001)):
        laps.loc[laps["lap"] == lap, "gap_s"] = gap_s
    laps.loc[laps["lap"] == 9, "representative"] = False
    said = five_lines(replace(material, laps=laps), Units())[1]
    assert "; too close to call: lap 3, 5. Best sectors" in said
    row = material.lap(material.best)
    minutes, seconds = divmod(row["time_s"], 60.0)
    assert said.startswith(f"Best: lap {material.best}, {minutes:.0f}:{seconds:06.3f} ± ")
    assert f"± {row['time_sd_s']:.3f} s" in said
    assert material.theoretical_best is not None
    total, sd = material.theoretical_best
    minutes, seconds = divmod(total, 60.0)
    assert f"added up: {minutes:.0f}:{seconds:06.3f} ± {sd:.3f} s, a lap nobody drove" in said


def test_pace_is_the_median_and_the_range_of_the_clean_laps(material: ReportData) -> None:
    some = with_clean(material, 2, 5, 9, 14)
    times = np.sort(some.clean["time_s"].to_numpy(dtype=float))
    said = five_lines(some, Units())[2]
    # Of four, the mean of the two in the middle.
    minutes, seconds = divmod(0.5 * (times[1] + times[2]), 60.0)
    assert said.startswith(f"Median clean lap {minutes:.0f}:{seconds:05.2f}, ")
    assert f"all of them lie within {times[3] - times[0]:.2f} s of each other" in said
    assert "The best of 4 laps" in said
    # Three are enough to speak of a pace, two are not.
    assert five_lines(with_clean(material, 2, 5, 9), Units())[2].startswith("Median")
    assert five_lines(with_clean(material, 2, 5), Units())[2].startswith("2 clean laps: too few")
    assert five_lines(with_clean(material, 2), Units())[2].startswith("1 clean lap: too few")


def test_without_a_best_lap_there_is_nothing_to_compare(material: ReportData) -> None:
    lines = five_lines(replace(material, best=None, usual=None, comparison=None), Units())
    assert lines[1:] == ["No lap counts as a best lap, so there is nothing to compare."]
    alone = five_lines(replace(material, usual=None, comparison=None), Units())
    assert alone[3] == "There is no second clean lap to compare the best one with."


def test_top_speed_stands_where_it_was_reached(material: ReportData) -> None:
    laps = material.laps.assign(top_speed_mps=40.0, top_speed_station_m=100.0)
    laps.loc[laps["lap"] == 4, ["top_speed_mps", "top_speed_station_m"]] = (50.0, 304.8)
    laps.loc[laps["lap"] == 5, "top_speed_mps"] = np.nan
    said = five_lines(replace(material, laps=laps), Units("mph", "ft"))[4]
    # 50 m/s are 111.8 mph of 1609.344 m; 304.8 m are a thousand feet.
    assert said == "Top speed 112 mph on lap 4, 1000 ft after the start line."


def test_how_sure_the_times_are(material: ReportData) -> None:
    laps = material.laps.copy()
    timed = laps["kind"] == "timed"
    laps.loc[timed, "time_sd_s"] = np.linspace(0.001, 0.039, 20) ** 2 * 10.0
    laps.loc[timed, "gap_sd_s"] = 0.030
    laps.loc[timed & (laps["lap"] == 3), "gap_sd_s"] = 0.9
    laps.loc[laps["lap"] == material.best, "gap_sd_s"] = 0.0
    said = how_sure(replace(material, laps=laps), Units())
    middle = 5.0 * (0.019**2 + 0.021**2)
    assert said[0].startswith(f"A lap time is good to about ± {middle:.3f} s.")
    assert said[1].startswith("Two laps closer than about 0.060 s are called equal")
    assert "two times in three" in said[0]


def test_how_large_the_errors_of_the_log_are(material: ReportData) -> None:
    noise = replace(
        material.noise, position_sd_m=0.3048, drift_sd_m=1.524, drift_tau_s=181.0, speed_sd_mps=0.1,
        repeat_line=False, sources=("one thing", "another"),
    )  # fmt: skip
    said = how_sure(replace(material, noise=noise), Units("mph", "ft"))
    # A foot and five; 0.1 m/s are 0.2237 mph.
    assert said[2] == (
        "The log's positions scatter by 1.00 ft from fix to fix and drift by 5.00 ft over about "
        "181 s; its speed scatters by 0.22 mph."
    )
    assert said[3] == "The noise was estimated from: one thing, another."
    assert len(said) == 5
    without = replace(noise, speed_sd_mps=None, repeat_line=True)
    bare = how_sure(replace(material, noise=without), Units())
    assert "it has no speed of its own" in bare[2]
    assert bare[3].startswith("The line you repeat lap after lap was used")


@pytest.mark.parametrize(
    ("brake", "throttle", "said"),
    [
        ("channel", "channel", "Braking and throttle points come from the driver's pedals, as log"),
        ("motion", "motion", "Braking and throttle points come from how the car moved, not a pe"),
        ("channel", "motion", "Braking points come from the driver's pedals, as logged; throttle "
         "points from how the car moved"),
        ("motion", "channel", "Braking points come from how the car moved, not a pedal; throttle "
         "points from the driver's pedals"),
    ],
)  # fmt: skip
def test_where_braking_points_come_from(
    material: ReportData, brake: str, throttle: str, said: str
) -> None:
    passes = material.passes.assign(brake_source=brake, throttle_source=throttle)
    assert how_sure(replace(material, passes=passes), Units())[-1].startswith(said)
    # One pass without a pedal's word is enough.
    passes.loc[passes.index[3], ["brake_source", "throttle_source"]] = "motion"
    assert "pedals" not in how_sure(replace(material, passes=passes), Units())[-1]


def test_what_an_item_is_worth_has_its_error_bar() -> None:
    item = WorthTrying(3, "braking", time_at_stake_s=0.1234, time_at_stake_sd_s=0.031)
    assert worth(item) == "Worth about 0.12 s (sd 0.03 s)."


def test_corners_are_called_by_their_names(material: ReportData) -> None:
    assert "Saint Aldwyn" in corner_name(material, 2)
    assert "Saint Aldwyn" in said_corner(material, 2)
    assert "3" in corner_name(material, 3)
    assert corner_name(material, 0) == "start to corner 1"
    without = replace(material, corners=material.corners.iloc[:0])
    assert corner_name(without, 0) == said_corner(without, 0) == "the lap"


def test_the_spread_of_the_laps_is_their_sd(material: ReportData) -> None:
    times = material.clean["time_s"].to_numpy()
    sd = np.sqrt(((times - times.mean()) ** 2).sum() / (len(times) - 1))
    said = five_lines(material, Units())[2].partition("spread (sd) ")[2].partition(" s;")[0]
    half = 0.5 * 10.0 ** -len(said.partition(".")[2])
    assert float(said) == pytest.approx(sd, abs=half)


def test_the_length_is_said_to_be_of_the_line_driven(material: ReportData) -> None:
    assert f"{material.length_m:.0f} m along the line driven" in five_lines(material, Units())[0]


def test_of_two_laps_the_second_is_the_other(material: ReportData) -> None:
    two = with_clean(material, material.best, material.usual)
    lines = five_lines(two, Units())
    assert "too few to speak of a typical pace" in lines[2]
    assert lines[3].startswith("The other lap (lap ")
    page = html(two)
    for word in ("a typical lap", "the typical lap", "Typical lap", '"tag"> typical'):
        assert word not in page
        assert word in html(material)
    assert five_lines(material, Units())[3].startswith("A typical lap (lap ")


def test_what_was_not_tested_is_not_said_to_show_no_habit(material: ReportData) -> None:
    assert material.best is not None
    every = replace(material, worth_trying=(), notes=LogNotes())
    assert "no habit could be shown" in only_between_two(every)[0]
    two = only_between_two(with_clean(material, material.best, material.usual))[0]
    assert "too few clean laps (2) to test for a habit" in two
    wet = only_between_two(replace(every, notes=LogNotes(conditions="dry, then rain")))[0]
    for text in (two, wet):
        assert "no habit" not in text
    # One lap against another is no reason to look anywhere.
    for text in (two, wet, only_between_two(every)[0]):
        assert "look at" not in text


def test_best_sectors_are_put_together_from_two_laps_at_least(material: ReportData) -> None:
    assert "Best sectors added up" in five_lines(material, Units())[1]
    assert (
        "Best sectors added up" not in five_lines(with_clean(material, material.best), Units())[1]
    )


def test_top_speed_is_that_of_all_laps(material: ReportData) -> None:
    laps = material.laps.copy()
    last = laps.index[-1]
    laps.loc[last, ["kind", "top_speed_mps"]] = ["in", 100.0]
    said = five_lines(replace(material, laps=laps), Units())[4]
    assert f"360 km/h on lap {laps.loc[last, 'lap']} (the in lap)" in said


def test_a_lap_of_the_same_log_is_no_other_car(material: ReportData) -> None:
    c = material.comparison
    assert c is not None
    own = other_words(material)
    assert "A different driver" not in own
    assert f"compare lap {c.lap}, a typical lap, with lap {c.reference}, the best" in own
    assert own in unescape(html(material))
    assert other_words(replace(material, other_log=True)) == f"{OTHER_CAR} {own}"


def test_no_finding_is_less_than_two_sd(material: ReportData) -> None:
    assert any("smaller than twice its \N{PLUS-MINUS SIGN}" in text for text in CAUTIONS)
    far = material.laps.assign(gap_s=1.0, gap_sd_s=0.01)
    near = far.assign(gap_s=0.015)
    said = "Equal: within twice the \N{PLUS-MINUS SIGN} of the best"
    assert said not in html(replace(material, laps=far))
    assert said in html(replace(material, laps=near))


def test_the_last_try_is_held_against_a_session_with_a_name(material: ReportData) -> None:
    tried = replace(material, came_of_it=("Quicker.",), before="friday_test.csv")
    assert "Compared with friday_test.csv." in html(tried)
    assert "Before:" not in html(replace(tried, before=""))

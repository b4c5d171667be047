"""Sentences of a corner's card: no sharper than its numbers."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from lapwright.report.card_words import corner_parts, corner_words, flat_words
from lapwright.report.report_data import ReportData
from lapwright.units import Units


def with_causes(material: ReportData, corner: int, **lost_s: float) -> ReportData:
    """The same, with these causes in one corner, 0.005 s each, and nothing elsewhere."""
    c = material.comparison
    assert c is not None
    causes = c.causes.assign(lost_s=0.0, lost_sd_s=0.005)
    for cause, value in lost_s.items():
        causes.loc[(causes["corner"] == corner) & (causes["cause"] == cause), "lost_s"] = value
    cov = np.eye(len(causes)) * 0.005**2
    passes = c.passes.copy()
    for name in passes.filter(like="difference_"):
        passes[name] = 0.1 if "_sd_" in name else 0.0
    passes["difference_min_speed_mps"] = -1.0
    made = replace(
        c, ledger=c.ledger.assign(difference_s=0.0), causes_of=lambda: (causes, cov),
        passes_of=lambda: passes,
    )  # fmt: skip
    return replace(material, comparison=made)


def test_of_two_clean_laps_none_is_usual(material: ReportData) -> None:
    clean = material.laps["lap"].isin([material.best, material.usual])
    two = replace(material, laps=material.laps.assign(representative=clean))
    corner = int(material.corners["corner"].iloc[0])
    passes = material.passes[material.passes["corner"] == corner]
    assert "he typical lap" in corner_words(material, corner, passes, Units())[0]
    assert "he other lap" in corner_words(two, corner, passes, Units())[0]


def of(material: ReportData, corner: int) -> tuple[str, ...]:
    passes = material.passes[material.passes["corner"] == corner]
    return corner_words(material, corner, passes, Units("m/s"))


def test_lost_is_slower_than_the_best_and_gained_is_quicker(material: ReportData) -> None:
    # 0.005 s on each of four: a hundredth on the sum.
    said = of(with_causes(material, 3, minimum=0.20, exit=0.04), 3)[0]
    assert said == (
        "The typical lap lost 0.240 ± 0.010 s to the best here, most of it around the slowest "
        "point: minimum speed 1.0 m/s lower (± 0.1)."
    )
    said = of(with_causes(material, 3, braking=-0.20, exit=-0.04), 3)[0]
    assert said == (
        "The typical lap gained 0.240 ± 0.010 s on the best here, most of it on the brakes."
    )
    # Within twice a hundredth nothing is said to be lost, whatever one part has.
    said = of(with_causes(material, 3, minimum=0.019), 3)[0]
    assert said == "The typical lap and the best are too close here to tell apart."
    assert "lost" in of(with_causes(material, 3, minimum=0.022), 3)[0]


def test_parts_are_the_stretches_that_have_a_length(material: ReportData) -> None:
    c = material.comparison
    assert c is not None
    for corner in material.corners["corner"]:
        rows = c.ledger[c.ledger["corner"] == corner]
        long = rows[(rows["end_m"] - rows["start_m"]) > 0.0].groupby("stretch", sort=False)
        found = {name: value for name, _, value, _ in corner_parts(material, int(corner))}
        assert found == pytest.approx(long["difference_s"].sum().to_dict())


def test_the_quickest_and_the_slowest_clean_run_are_named(material: ReportData) -> None:
    passes = material.passes[material.passes["corner"] == 3].copy()
    passes["time_s"] = 8.0 + 0.01 * passes["lap"]
    passes.loc[passes["lap"] == 7, "time_s"] = 7.25
    passes.loc[passes["lap"] == 12, "time_s"] = 9.75
    # Lap 4 is quicker still, and set aside.
    passes.loc[passes["lap"] == 4, "time_s"] = 5.0
    clean = material.laps["representative"] & (material.laps["lap"] != 4)
    some = replace(material, laps=material.laps.assign(representative=clean))
    said = " ".join(corner_words(some, 3, passes, Units()))
    assert "From entry to exit, clean laps took 7.25 s (lap 7) to 9.75 s (lap 12)." in said
    for kept, there in ((2, False), (3, True)):
        few = material.laps["lap"].isin([5, 6, 7][:kept])
        some = replace(material, laps=material.laps.assign(representative=few))
        assert ("clean laps took" in " ".join(corner_words(some, 3, passes, Units()))) == there


def test_a_corner_is_taken_without_braking_where_most_laps_do(material: ReportData) -> None:
    passes = material.passes[material.passes["corner"] == 3].copy()
    for flat, said in ((10, False), (11, True)):
        passes["brake_station_m"] = np.where(np.arange(20) < flat, np.nan, 100.0)
        words = corner_words(material, 3, passes, Units())
        assert ("Taken without braking on most laps." in words) == said


def runs(flat: list[bool], time_s: list[float], time_sd_s: float = 0.01) -> pd.DataFrame:
    minimum = [np.nan if one else 30.0 for one in flat]
    return pd.DataFrame({
        "lap": np.arange(3, 3 + len(flat)), "flat": flat, "time_s": time_s,
        "time_sd_s": time_sd_s, "min_speed_mps": minimum,
    })  # fmt: skip


def test_on_which_laps_there_was_no_lift_and_what_either_way_took() -> None:
    # Means 4.10 and 4.30 s; each is off its group's mean by 0.03 s: four squares over the two
    # degrees of freedom, 0.0424 s a lap, 0.03 s of two.
    table = runs([True, False, True, False], [4.07, 4.27, 4.13, 4.33])
    assert flat_words(table) == (
        "No lift on laps 3 and 5 (4.10 \N{PLUS-MINUS SIGN} 0.03 s from entry to exit); lifted on "
        "the others (4.30 \N{PLUS-MINUS SIGN} 0.03 s).",
    )
    # The receiver errs by more than the laps differ: 0.2 s over the root of two.
    (said,) = flat_words(runs([True, False, True, False], [4.07, 4.27, 4.13, 4.33], 0.2))
    assert "laps 3 and 5 (4.10 \N{PLUS-MINUS SIGN} 0.14 s" in said


def test_laps_that_slowed_only_for_the_next_corner_neither_lifted_nor_did_not() -> None:
    table = runs([True, False, False], [4.1, 4.3, 4.3])
    table.loc[2, "min_speed_mps"] = np.nan
    (said,) = flat_words(table)
    assert "No lift on lap 3 (" in said
    assert "lifted on lap 4 (" in said
    (said,) = flat_words(table.iloc[[0, 2]])
    assert "lifted on" not in said


def test_all_or_none_is_said_short_or_not() -> None:
    assert flat_words(runs([True, True], [4.0, 4.1])) == ("No lift here on any clean lap.",)
    assert flat_words(runs([False, False], [4.0, 4.1])) == ()
    assert flat_words(runs([], [])) == ()


def test_no_lift_is_never_a_dare() -> None:
    for flat in ([True, True], [True, False], [True, False, False]):
        said = " ".join(flat_words(runs(flat, [4.0, 4.2, 4.3][: len(flat)]))).lower()
        assert not set(re.findall("[a-z]+", said)) & {"try", "should", "could", "flat", "quicker"}

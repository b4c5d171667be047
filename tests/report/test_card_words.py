"""Sentences of a corner's card: no sharper than its numbers."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from lapwright.report.card_words import (
    Part,
    corner_parts,
    corner_words,
    flat_words,
    spread_words,
)
from lapwright.report.headline import corner_sums
from lapwright.report.numbers import signed_with_sd
from lapwright.report.report_data import ReportData
from lapwright.units import is_equal


def parts(*values: float, sd: float = 0.005) -> list[Part]:
    names = ("braking", "entry", "exit", "straight")
    return [(n, signed_with_sd(v, sd), v, sd) for n, v in zip(names, values, strict=True)]


@pytest.mark.parametrize(
    ("values", "apart_sd", "said"),
    [
        ((0.01, 0.02, 0.09, 0.03), 0.007, "most of it on the exit (+0.090 ± 0.005 s)"),
        # A little over a third of the loss is not most of it.
        ((0.04, 0.03, 0.063, 0.042), 0.007, "the largest part on the exit (+0.063 ± 0.005 s)"),
        # As above, but the receiver cannot tell it from the next.
        (
            (0.04, 0.0, 0.063, 0.055), 0.007,
            "spread over exit (+0.063 ± 0.005 s), straight (+0.055 ± 0.005 s) and braking "
            "(+0.040 ± 0.005 s)",
        ),
        (
            (0.0, -0.08, 0.15, 0.03), 0.007,
            "more than that on the exit (+0.150 ± 0.005 s), and some won back elsewhere",
        ),
        (
            (0.0, -0.15, 0.05, 0.0), 0.007,
            "more than that on the entry (\N{MINUS SIGN}0.150 ± 0.005 s), and some lost again "
            "elsewhere",
        ),
    ],
)  # fmt: skip
def test_most_is_said_above_one_half_only(
    values: tuple[float, ...], apart_sd: float, said: str
) -> None:
    assert spread_words(sum(values), parts(*values), apart_sd) == said


def test_every_corner_that_differs_says_where(material: ReportData) -> None:
    for corner, value, sd in corner_sums(material):
        if corner == 0:
            continue
        passes = material.passes[material.passes["corner"] == corner]
        first = corner_words(material, corner, passes)[0]
        if is_equal(value, sd):
            assert "too close" in first
            continue
        found = re.search(r"most of it on the (\w+) \(\D([\d.]+)", first)
        if found is not None:
            assert float(found[2]) > 0.5 * abs(value) - 0.001


def test_of_two_clean_laps_none_is_usual(material: ReportData) -> None:
    clean = material.laps["lap"].isin([material.best, material.usual])
    two = replace(material, laps=material.laps.assign(representative=clean))
    corner = int(material.corners["corner"].iloc[0])
    passes = material.passes[material.passes["corner"] == corner]
    assert "he typical lap" in corner_words(material, corner, passes)[0]
    assert "he other lap" in corner_words(two, corner, passes)[0]


def with_parts(material: ReportData, corner: int, cov: np.ndarray, *lost_s: float) -> ReportData:
    """The same, with these times lost on the stretches of one corner."""
    c = material.comparison
    assert c is not None
    rows = np.flatnonzero(c.ledger["corner"] == corner)
    assert list(c.ledger["stretch"].iloc[rows]) == ["braking", "entry", "exit", "straight"]
    value, whole = np.zeros(len(c.ledger)), np.zeros((len(c.ledger),) * 2)
    value[rows], whole[np.ix_(rows, rows)] = lost_s, cov
    made = replace(c, ledger=c.ledger.assign(difference_s=value), ledger_cov_s2=whole)
    return replace(material, comparison=made)


def of(material: ReportData, corner: int) -> tuple[str, ...]:
    return corner_words(material, corner, material.passes[material.passes["corner"] == corner])


def test_lost_is_slower_than_the_best_and_gained_is_quicker(material: ReportData) -> None:
    cov = np.eye(4) * 0.005**2
    # 0.005 s on each of four: a hundredth on the sum.
    said = of(with_parts(material, 3, cov, 0.01, 0.02, 0.20, 0.01), 3)[0]
    assert said == (
        "From braking to the end of the straight after it, the typical lap lost 0.240 ± 0.010 s to "
        "the best, most of it on the exit (+0.200 ± 0.005 s)."
    )
    said = of(with_parts(material, 3, cov, -0.01, -0.20, -0.02, -0.01), 3)[0]
    assert "the typical lap gained 0.240 ± 0.010 s on the best, most of it on the entry (" in said
    # Within twice a hundredth nothing is said to be lost.
    said = of(with_parts(material, 3, cov, 0.010, 0.005, 0.0, 0.004), 3)[0]
    assert said == "The typical lap and the best are too close here to tell apart."
    assert "lost" in of(with_parts(material, 3, cov, 0.010, 0.005, 0.003, 0.004), 3)[0]


def test_parts_that_err_alike_are_told_apart_more_easily(material: ReportData) -> None:
    lost = (0.0, 0.04, 0.062, 0.05)
    # The largest is 0.012 s more than the next. Apart, of 0.005 s each, the difference of two has
    # an error bar of 0.0071 s, twice which is more; erring alike to 98 %, of 0.001 s.
    apart = np.eye(4) * 0.005**2
    assert "spread over" in of(with_parts(material, 3, apart, *lost), 3)[0]
    alike = apart.copy()
    alike[2, 3] = alike[3, 2] = 0.98 * 0.005**2
    assert "the largest part on the exit" in of(with_parts(material, 3, alike, *lost), 3)[0]


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
    said = " ".join(corner_words(some, 3, passes))
    assert "From entry to exit, clean laps took 7.25 s (lap 7) to 9.75 s (lap 12)." in said
    for kept, there in ((2, False), (3, True)):
        few = material.laps["lap"].isin([5, 6, 7][:kept])
        some = replace(material, laps=material.laps.assign(representative=few))
        assert ("clean laps took" in " ".join(corner_words(some, 3, passes))) == there


def test_a_corner_is_taken_without_braking_where_most_laps_do(material: ReportData) -> None:
    passes = material.passes[material.passes["corner"] == 3].copy()
    for flat, said in ((10, False), (11, True)):
        passes["brake_station_m"] = np.where(np.arange(20) < flat, np.nan, 100.0)
        words = corner_words(material, 3, passes)
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

"""Sentences of a corner's card: no sharper than its numbers."""

import re
from dataclasses import replace

import pytest

from lapwright.report.card_words import Part, corner_words, spread_words
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

"""The lap table as it is read."""

from dataclasses import dataclass

import pandas as pd

from lapwright.plots.display_units import speed_in
from lapwright.report.material import Material
from lapwright.report.numbers import EQUAL, NOTHING, clock_with_sd, gap_text, with_sd
from lapwright.units import Units


@dataclass(frozen=True)
class LapRow:
    """One lap in words."""

    lap: int
    role: str
    kind: str
    time: str
    gap: str
    sectors: tuple[str, ...]
    top: str
    remarks: str


# Words of the lap table, as they are explained below it.
_FLAGS = {
    "slow": "more than 6 % slower than the usual lap",
    "stop": "the car stood",
    "spin": "the car moved across or against the way",
    "standing_start": "began from a standstill; the time counts from the line",
    "gap": "fixes are missing for more than a moment; the error bars there are wider",
    "off_path": "well away from the usual line for a while",
    "short_cut": "a part of the circuit was left out",
    "reversed": "the car went backwards along the circuit",
    "log_ends": "the log ends on the track",
}
_KINDS = {"out": "out lap", "in": "in lap", "timed": "lap"}


def lap_rows(material: Material, units: Units) -> list[LapRow]:
    """
    Write the lap table.

    Parameters
    ----------
    material : Material
    units : Units

    Returns
    -------
    list of LapRow
    """
    out = []
    for row in material.laps.to_dict("records"):
        sectors = tuple(
            with_sd(t, sd, 3) for t, sd in zip(row["sectors_s"], row["sector_sds_s"], strict=True)
        )
        top = float(speed_in(row["top_speed_mps"], units.speed))
        remarks = [str(flag).replace("_", " ") for flag in row["flags"]]
        if row["lap"] == material.usual:
            remarks.insert(0, f"the {material.usual_word} lap")
        elif row["representative"]:
            remarks.insert(0, "clean")
        timed = row["kind"] == "timed"
        role = {material.best: "best", material.usual: "usual"}.get(row["lap"], "other")
        time = clock_with_sd(row["time_s"], row["time_sd_s"]) if timed else NOTHING
        gap = gap_text(row["gap_s"], row["gap_sd_s"]) if timed else NOTHING
        out.append(
            LapRow(
                int(row["lap"]), role, _KINDS[row["kind"]], time, gap, sectors,
                f"{top:.1f}" if top == top else NOTHING, ", ".join(remarks),
            )
        )  # fmt: skip
    return out


def any_equal(material: Material) -> bool:
    """Whether a lap is called equal to the best one."""
    gaps = material.laps.loc[material.laps["kind"] == "timed", ["gap_s", "gap_sd_s"]]
    return any(gap_text(gap, sd) == EQUAL for gap, sd in gaps.itertuples(index=False, name=None))


def flag_words(laps: pd.DataFrame) -> list[tuple[str, str]]:
    """Explain the flags that occur."""
    there = {str(flag) for flags in laps["flags"] for flag in flags}
    return [(word.replace("_", " "), text) for word, text in _FLAGS.items() if word in there]

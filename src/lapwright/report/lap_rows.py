"""The lap table as it is read."""

from dataclasses import dataclass

from lapwright.columns import records
from lapwright.plots.drawing.display_units import speed_in
from lapwright.report.numbers import EQUAL, NOTHING, clock_with_sd, gap_text, plain, with_sd
from lapwright.report.report_data import ReportData
from lapwright.units import Units
from lapwright.wording.flags import KIND_WORDS, flag_word
from lapwright.wording.heads import PAGE, described, heads


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


def lap_heads(material: ReportData, units: Units) -> list[str]:
    """
    Write the heads of the lap table, in the order of `LapRow`.

    Parameters
    ----------
    material : ReportData
    units : Units

    Returns
    -------
    list of str
    """
    return heads(PAGE, "laps", units, 1 + len(material.track.sectors))


def lap_rows(material: ReportData, units: Units) -> list[LapRow]:
    """
    Write the lap table.

    Parameters
    ----------
    material : ReportData
    units : Units

    Returns
    -------
    list of LapRow
    """
    out, columns = [], described("laps")
    digits = {name: columns[name].decimals for name in ("sectors_s", "top_speed_mps")}
    for row in records(material.laps):
        sectors = tuple(
            with_sd(t, sd, digits["sectors_s"])
            for t, sd in zip(row["sectors_s"], row["sector_sds_s"], strict=True)
        )
        top = float(speed_in(row["top_speed_mps"], units.speed))
        remarks = [flag_word(str(flag)) for flag in row["flags"]]
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
                int(row["lap"]), role, KIND_WORDS[row["kind"]], time, gap, sectors,
                plain(top, digits["top_speed_mps"]), ", ".join(remarks),
            )
        )  # fmt: skip
    return out


def any_equal(material: ReportData) -> bool:
    """Whether a lap is called equal to the best one."""
    gaps = material.laps.loc[material.laps["kind"] == "timed", ["gap_s", "gap_sd_s"]]
    return any(gap_text(gap, sd) == EQUAL for gap, sd in gaps.itertuples(index=False, name=None))

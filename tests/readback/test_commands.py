"""Every table and line that the commands print says what the session's tables say."""

import math
import re

import numpy as np
import pytest
from click.testing import CliRunner
from readback_worlds import NAMES, SAMPLE_FOLDER, SAMPLES, advice_of, truth_of
from sentence_truth import most_lost
from session_truth import EQUAL_SD, Truth, factor, split_units
from shown import True_, all_wrong, exact, numbers_in, pair, wrong
from shown_names import (
    CORNERS_COMMAND,
    DELTA_PLACE,
    LEDGER_TOTAL,
    MINIMUM,
    NO_LIFT,
    STRETCHES,
    UNNAMED,
)
from terminal_reading import run, table_from
from why_truth import CELLS, beside_true, evidence_wrong, reason, reasons, time_wrong

from lapwright.cli import cli
from lapwright.ingest import read_log
from lapwright.laps.comparison import Comparison

# Pages and JSON are read back of all of them each time.
EACH_TIME = {*SAMPLES, "gap", "missing_passes", "no_velocity", "one_lap"}
SHOWN = [
    *(
        pytest.param((name, "km/h"), marks=() if name in EACH_TIME else pytest.mark.thorough)
        for name in NAMES
    ),
    ("sunday_race.csv", "mph,ft"), ("gap", "mph,ft"),
]  # fmt: skip


@pytest.fixture(params=SHOWN, ids=lambda p: f"{p[0]}-{p[1]}")
def shown(request: pytest.FixtureRequest) -> tuple[str, str]:
    name, units = request.param
    return name, units


def _head_wrong(truth: Truth, lines: list[str], units: str) -> list[str]:
    """The two lines at the head: log and circuit."""
    log, track = truth.session.log, truth.session.track
    text = lines[0].removeprefix(f"{log.path.name}: ")
    if log.start_utc is not None:
        stamp = f"{log.start_utc:%Y-%m-%d %H:%M} UTC"
        assert text.startswith(stamp)
        text = text.removeprefix(stamp)
    digits = len(f"{log.rate_hz:.3g}".partition(".")[2])
    out = all_wrong(
        numbers_in(text), [True_(log.duration_s), True_(log.rate_hz, most=digits)], lines[0]
    )
    far = split_units(units)[1]
    true = [True_(track.length_m * factor("far", units)), exact(len(track.corners))]
    out += all_wrong(numbers_in(lines[1].removeprefix(track.name or UNNAMED)), true, lines[1])
    return out + ([] if f" {far}," in lines[1] else [f"{lines[1]}: in {far}"])


def test_laps(shown: tuple[str, str]) -> None:
    name, units = shown
    truth, lines = truth_of(name), run(name, units, "laps")
    complaints = _head_wrong(truth, lines, units)
    heads, rows = table_from(lines, "lap")
    assert heads[0] == "lap"
    assert [int(row[0]) for row in rows] == list(truth.session.laps["lap"])
    for row in rows:
        cells = dict(zip(heads, row, strict=True))
        complaints += _lap_wrong(truth, int(row[0]), cells, units)
    assert complaints == []
    assert _summary_wrong(truth, lines, units) == []


def _lap_wrong(truth: Truth, lap: int, cells: dict[str, str], units: str) -> list[str]:
    row, speed = truth.laps.loc[lap], split_units(units)[0]
    timed = row["kind"] == "timed"
    none = True_(math.nan)
    sd = row["time_sd_s"]
    said = [
        wrong(cells.get("time", ""), True_(row["time_s"], sd, 3) if timed else none),
        wrong(cells.get("±", ""), True_(sd, sd, 3) if timed else none),
        wrong(cells[f"top {speed}"], True_(row["top_speed_mps"] * factor("speed", units))),
        _gap_wrong(truth, lap, cells.get("to best", ""), timed=timed),
    ]
    for k, (time, bar) in enumerate(zip(row["sectors_s"], row["sector_sds_s"], strict=True)):
        true = True_(time, bar, 2) if timed else none
        said.append(wrong(cells.get(f"S{k + 1}", ""), true))
    return [f"lap {lap}: {one}" for one in said if one]


def _gap_wrong(truth: Truth, lap: int, text: str, *, timed: bool) -> str:
    gap, sd = truth.gaps.loc[lap]
    if not timed or not math.isfinite(gap):
        return "" if text in ("", "-") else f"{text} without a best lap"
    if lap == truth.best:
        return "" if text == "best" else f"{text} for the best lap"
    if abs(gap) < EQUAL_SD * sd:
        return "" if text == "equal" else f"{text} for {gap} ± {sd}"
    return wrong(text, True_(gap, sd, 2))


def _summary_wrong(truth: Truth, lines: list[str], units: str) -> list[str]:
    """Best lap, clean laps, best sectors, top speed."""
    if truth.best is None:
        return [] if any("no best lap" in line for line in lines) else ["a best lap?"]
    row = truth.laps.loc[truth.best]
    times = truth.laps.loc[truth.clean, "time_s"].to_numpy(dtype=np.float64)
    out = _line_wrong(
        lines, "Best: lap", [exact(truth.best), pair(row["time_s"], row["time_sd_s"])]
    )
    if len(times) > 1:
        spread = float(times.std(ddof=1))
        true = [exact(len(times)), True_(float(np.median(times)), most=2), True_(spread, spread, 2)]
        out += _line_wrong(lines, "Clean laps", true)
    known = truth.session.theoretical_best
    if known is not None and len(times) > 1 and truth.session.track.sectors:
        out += _line_wrong(lines, "Best sectors", [pair(*known)])
    lap = int(truth.laps["top_speed_mps"].idxmax())
    top = truth.laps.loc[lap]
    true = [
        True_(top["top_speed_mps"] * factor("speed", units)), exact(lap),
        True_(top["top_speed_station_m"] * factor("far", units)),
    ]  # fmt: skip
    return out + _line_wrong(lines, "Top speed", true)


def _line_wrong(lines: list[str], begins: str, true: list[True_]) -> list[str]:
    found = [line for line in lines if line.startswith(begins)]
    return all_wrong(numbers_in(found[0]), true, found[0]) if found else [f"no line {begins}"]


def test_debrief(shown: tuple[str, str]) -> None:
    name, units = shown
    truth, lines = truth_of(name), run(name, units, "debrief", "--no-notes")
    complaints = _head_wrong(truth, lines, units) + _summary_wrong(truth, lines, units)
    ends = next(k for k, line in enumerate(lines) if line.startswith(("Best: lap", "No lap")))
    strip = [cell for line in lines[2:ends] for cell in re.split(r"\s{2,}", line.strip())]
    shown_laps = {}
    for cell in strip:
        number, _, rest = cell.partition(" ")
        shown_laps[int(number)] = rest.split(" ")[0] if rest[:1].isdigit() else ""
    assert list(shown_laps) == list(truth.session.laps["lap"])
    for lap, text in shown_laps.items():
        row = truth.laps.loc[lap]
        true = True_(row["time_s"] if row["kind"] == "timed" else math.nan, row["time_sd_s"], 3)
        said = wrong(text, true)
        complaints += [f"lap {lap}: {said}"] if said else []
        assert strip[list(shown_laps).index(lap)].endswith(" best") == (lap == truth.best)
    assert complaints == []
    text = " ".join(" ".join(lines).split())
    for item in advice_of(name, units).items:
        assert " ".join(item.text.split()) in text


def test_corners(shown: tuple[str, str]) -> None:
    name, units = shown
    truth, lines = truth_of(name), run(name, units, "corners")
    complaints = _head_wrong(truth, lines, units)
    speed, far = split_units(units)
    heads, rows = table_from(lines, "corner")
    wanted = [head.format(v=speed) for head in CORNERS_COMMAND]
    there = [head for head in heads if head]
    # Columns that are empty in all rows are left out.
    full = truth.best is not None and len(truth.clean) > 1
    assert there == wanted if full else set(there) <= set(wanted)
    assert [row[0] for row in rows] == [
        truth.label(int(n)).removeprefix("corner ") for n in truth.corners.index
    ]
    assert any(f"radius in {far}" in line for line in lines)
    if full:
        for row in rows:
            cells = [cell for head, cell in zip(heads, row, strict=True) if head]
            corner = int(cells[0].split()[0])
            complaints += _corner_wrong(truth, corner, cells[1:], units)
    assert complaints == []
    counted = next(line for line in lines if line.startswith("min, time"))
    if truth.clean:
        assert all_wrong(numbers_in(counted), [exact(len(truth.clean))]) == []
    text = " ".join(" ".join(lines).split())
    for item in advice_of(name, units).items:
        assert " ".join(item.evidence.split()) in text


def _corner_wrong(truth: Truth, corner: int, cells: list[str], units: str) -> list[str]:
    row = truth.corners.loc[corner]
    speed, far = factor("speed", units), factor("far", units)
    slow = truth.values(corner, truth.clean, "min_speed_mps") * speed
    time = truth.values(corner, truth.clean, "time_s")
    braked = truth.values(corner, truth.clean, "brake_station_m")
    sds = [float(np.std(v, ddof=1)) if len(v) > 1 else math.nan for v in (slow, time)]
    best = truth.passes.get((truth.best or -1, corner))
    cells = list(cells)
    runs = [truth.passes[n, corner] for n in truth.clean if (n, corner) in truth.passes]
    known = sum(run["flat"] or math.isfinite(run["min_speed_mps"]) for run in runs)
    if 2 * len(braked) < known or 2 * known < len(time):
        assert cells[4] == ("no" if 2 * known >= len(time) else "-")
        braked, cells[4] = np.zeros(0), ""
    most_flat = truth.no_lift(corner, truth.clean, MINIMUM)
    best_flat = best is not None and best["flat"]
    true = [
        True_(row["radius_m"] * far),
        NO_LIFT if most_flat else True_(_median(slow), sds[0], 1),
        True_(sds[0], sds[0], 1),
        NO_LIFT
        if best_flat
        else True_(best["min_speed_mps"] * speed if best else math.nan, most=1),
        True_((row["entry_m"] - _median(braked)) * far),
        True_(_median(time), sds[1], 2),
        True_(sds[1], sds[1], 2),
        True_(best["time_s"] if best else math.nan, most=2),
    ]
    return all_wrong(cells, true, f"corner {corner}")


def _median(values: np.ndarray) -> float:
    return float(np.median(values)) if len(values) else math.nan


def test_compare(shown: tuple[str, str]) -> None:
    name, units = shown
    truth = truth_of(name)
    c = truth.comparison
    if c is None:
        pytest.skip("there are no two laps to compare")
    lines = run(name, units, "compare", c.lap, "--reference", c.reference)
    true = [exact(c.lap), exact(c.reference), pair(c.time_difference_s, c.time_difference_sd_s)]
    complaints = all_wrong(numbers_in(lines[0]), true, lines[0])
    heads, rows = table_from(lines, "corner")
    assert [head for head in heads if head] == ["corner", *STRETCHES, LEDGER_TOTAL, "±"]
    assert [int(row[0] or 0) for row in rows] == sorted({int(n) for n in c.ledger["corner"]})
    for row in rows:
        corner = int(row[0] or 0)
        cells = [cell for head, cell in zip(heads, row, strict=True) if head][1:]
        sums = [truth.ledger_sum(corner, s) for s in (*STRETCHES, None)]
        said = [_difference_wrong(t, *v) for t, v in zip(cells[:-1], sums, strict=True)]
        said.append(wrong(cells[-1], True_(sums[-1][1], sums[-1][1], 3)))
        complaints += [f"corner {corner}: {one}" for one in said if one]
    complaints += _along_wrong(truth, lines, units)
    complaints += _beside_wrong(c, lines, units) + _why_wrong(c, lines, units)
    assert complaints == []
    assert set(most_lost(truth)) <= {0, *truth.corners.index}


def _difference_wrong(text: str, value: float, sd: float) -> str:
    if not math.isfinite(value) or abs(value) < EQUAL_SD * sd or abs(value) < 0.0005:
        return "" if text == "=" else f"{text} for {value} ± {sd}"
    return wrong(text, True_(value, sd, 3))


def _beside_wrong(c: Comparison, lines: list[str], units: str) -> list[str]:
    """Two rows a corner: what differs clearly stands beside, what does not is marked."""
    begins = next(k for k, line in enumerate(lines) if line.startswith("Side by side"))
    ends = next(k for k, line in enumerate(lines) if line.startswith("brake: "))
    _, (first, *rest) = table_from(lines[begins + 1 : ends], "")
    out = [_difference_wrong(first[-1], reason(c, 0).lost_s, reason(c, 0).sd_s)]
    assert len(rest) == 2 * len(c.track.corners)
    for corner, mine, other in zip(c.track.corners, rest[::2], rest[1::2], strict=True):
        number, one = corner.order, reason(c, corner.order)
        assert [int(v) for v in (mine[0], mine[1], other[1])] == [number, c.lap, c.reference]
        out.append(_difference_wrong(mine[-1], one.lost_s, one.sd_s))
        for k, (head, (name, _, most)) in enumerate(CELLS.items(), start=2):
            a, b, (value, sd) = beside_true(c, number, head, units)
            known = math.isfinite(value) and math.isfinite(sd)
            equal = known and (value == 0.0 or abs(value) < EQUAL_SD * sd)
            if name.endswith("_offset_m"):
                right = True_(value, sd, most) if known else True_(math.nan)
                shown = "" if equal and mine[k] == "=" else wrong(mine[k], right)
                out += [f"corner {number}, {head}: {shown}"] if shown else []
                continue
            assert other[k].startswith("=") == equal
            said = [wrong(mine[k], True_(*a, most)), wrong(other[k].lstrip("="), True_(*b, most))]
            out += [f"corner {number}, {head}: {one}" for one in said if one]
    return [one for one in out if one]


def _why_wrong(c: Comparison, lines: list[str], units: str) -> list[str]:
    """A sentence for each corner where the laps can be told apart, most first."""
    text = "\n".join(lines).partition("most first:\n")[2].partition("\nEach cause")[0]
    said = [" ".join(one.split()) for one in text.removeprefix("- ").split("\n- ")]
    found, out = reasons(c), []
    for corner in sorted((n for n in found if found[n].clear), key=lambda n: -abs(found[n].lost_s)):
        one = said.pop(0)
        if corner:
            out += time_wrong(one, found[corner]) + evidence_wrong(one, c, corner, units)
        else:
            assert one.startswith("Start to corner 1: ")
    equal = [n for n in found if n and not found[n].clear]
    assert len(said) == bool(equal)
    return out


def _along_wrong(truth: Truth, lines: list[str], units: str) -> list[str]:
    """The delta at ten places."""
    c, far = truth.comparison, split_units(units)[1]
    assert c is not None
    _, rows = table_from(lines, DELTA_PLACE.format(d=far))
    length = truth.session.track.length_m
    assert len(rows) == 10
    out = []
    for k, row in enumerate(rows, start=1):
        station = k * length / 10.0
        at = {n: float(np.interp(station, c.delta["station_m"], v)) for n, v in c.delta.items()}
        said = [_difference_wrong(row[1], at["delta_s"], at["delta_sd_s"])]
        true = [
            True_(at["delta_sd_s"], at["delta_sd_s"], 3),
            *(True_(at[n] * factor("speed", units)) for n in ("speed_mps", "reference_speed_mps")),
        ]
        out += [f"at {row[0]}: {one}" for one in said if one]
        out += all_wrong(row[:1], [True_(station * factor("far", units))], "place")
        out += all_wrong(row[2:], true, f"at {row[0]}")
    return out


def test_track(shown: tuple[str, str]) -> None:
    name, units = shown
    truth, lines = truth_of(name), run(name, units, "track")
    track, scale = truth.session.shared_track, factor("far", units)
    label = track.name or UNNAMED
    sd = track.length_sd_m
    bar = [] if sd is None else [True_(sd * scale, sd * scale, 1)]
    numbers = numbers_in(lines[0].removeprefix(label).replace(" ± ", " and "))
    true = [True_(track.length_m * scale, most=1), *bar]
    complaints = all_wrong(numbers, [*true, exact(len(track.corners))], lines[0])
    places = [True_(float(s) * scale) for s in track.gate_stations_m[1:]]
    if places:
        complaints += _line_wrong(lines, "Sector lines", places)
    heads, rows = table_from(lines, "corner")
    for row, corner in zip(rows, track.corners, strict=True):
        cells = [cell for head, cell in zip(heads, row, strict=True) if head]
        stations = (corner.entry_m, corner.apex_m, corner.exit_m, corner.radius_m)
        true = [exact(corner.order), *(True_(v * scale) for v in stations)]
        complaints += all_wrong(cells, true, f"corner {corner.order}")
    assert complaints == []


@pytest.mark.parametrize("name", SAMPLES)
def test_check(name: str) -> None:
    log = read_log(SAMPLE_FOLDER / name)
    said = CliRunner().invoke(cli, ["check", str(SAMPLE_FOLDER / name)])
    assert said.exit_code == 0
    lines = said.stdout.splitlines()
    digits = len(f"{log.rate_hz:.3g}".partition(".")[2])
    true = [exact(len(log.fixes)), True_(log.rate_hz, most=digits), True_(log.duration_s)]
    assert all_wrong(numbers_in(lines[0].removeprefix(name)), true, lines[0]) == []
    heads, rows = table_from(lines, "column")
    assert [row[0] for row in rows] == [column.name for column in log.columns]
    filled = [row[heads.index("filled")].removesuffix(" %") for row in rows]
    assert all_wrong(filled, [True_(100.0 * column.filled) for column in log.columns]) == []
    odd = [line for line in lines if line.startswith("- ")]
    assert len(odd) == len(log.findings)
    for line, finding in zip(odd, log.findings, strict=True):
        assert line.startswith(f"- {finding.message}")
        shown_lines = numbers_in(line.removeprefix(f"- {finding.message}"))
        pairs = [n for ends in finding.lines[:6] for n in dict.fromkeys(ends)]
        more = [len(finding.lines) - 6] if len(finding.lines) > 6 else []
        assert all_wrong(shown_lines, [exact(n) for n in (*pairs, *more)], line) == []

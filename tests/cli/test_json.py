"""What programs read: exact keys, SI units, null where there is nothing."""

from pathlib import Path

import numpy as np
import pytest
from cli_runs import Files, Run, RunJson
from json_schemas import (
    CHECK,
    COMPARE,
    CORNERS,
    DEBRIEF,
    LAPS,
    REPORT,
    TRACK_COMMAND,
)
from jsonschema import Draft202012Validator


def follows(document: object, schema: dict[str, object]) -> None:
    problems = sorted(Draft202012Validator(schema).iter_errors(document), key=str)
    assert [f"{p.json_path}: {p.message}" for p in problems] == []


def test_laps(files: Files, run_json: RunJson) -> None:
    document = run_json("laps", files.log, "--track", files.track, "--road", "off")
    follows(document, LAPS)
    # The plan of the simulated session: out of the pits, four laps, back in.
    assert [lap["kind"] for lap in document["laps"]] == ["out", *["timed"] * 4, "in"]
    assert document["noise"]["road"] is False
    assert document["track"]["source"] == "file"
    for lap in document["laps"]:
        # One entry more than there are sector lines, of which the simulated circuit has two.
        assert len(lap["sectors_s"]) == len(lap["sector_sds_s"]) == 3
        if lap["kind"] == "timed":
            assert sum(lap["sectors_s"]) == pytest.approx(lap["time_s"], abs=1e-6)
            low, high = lap["time_ci95_s"]
            assert low < lap["time_s"] < high
    # The last lap ends in the pits, before the line: no times, and null is no zero.
    last = document["laps"][-1]
    assert last["complete"] is False
    assert last["time_s"] is last["time_sd_s"] is last["time_ci95_s"] is None
    assert last["sectors_s"] == [None] * 3


def test_compare(files: Files, run_json: RunJson) -> None:
    document = run_json("compare", files.log, 2, "--reference", 1, "--track", files.track,
                        "--road", "off", "--step", 20)  # fmt: skip
    follows(document, COMPARE)
    delta = document["delta"]
    assert len({len(column) for column in delta.values()}) == 1
    assert delta["station_m"][:2] == [0.0, 20.0]
    assert delta["delta_s"][0] == 0.0
    assert delta["delta_s"][-1] == pytest.approx(document["time_difference_s"], abs=1e-6)
    total = sum(row["difference_s"] for row in document["ledger"])
    assert total == pytest.approx(document["time_difference_s"], abs=1e-6)
    charged = sum(row["lost_s"] for row in document["causes"])
    assert charged == pytest.approx(document["time_difference_s"], abs=1e-6)
    # Every corner has its four causes, and corner 0 what the lap began with.
    assert {row["corner"] for row in document["causes"]} == {0, *range(1, 11)}
    assert [row["corner"] for row in document["passes"]] == list(range(1, 11))


def test_compare_with_itself_of_another_log_agrees(files: Files, run_json: RunJson) -> None:
    document = run_json("compare", files.log, 2, "--reference", 2, "--reference-log", files.log,
                        "--track", files.track, "--road", "off", "--step", 50)  # fmt: skip
    follows(document, COMPARE)
    delta, sd = (np.array(document["delta"][name]) for name in ("delta_s", "delta_sd_s"))
    # The log's place on the path is estimated anew, within its error bar; the lap time is not.
    assert (np.abs(delta) <= 3.0 * sd + 1e-9).all()
    assert abs(document["time_difference_s"]) < 1e-3


def test_corners(files: Files, run_json: RunJson) -> None:
    document = run_json("corners", files.log, "--track", files.track, "--road", "off")
    follows(document, CORNERS)
    assert len(document["passes"]) == 4 * len(document["corners"])


def test_track(files: Files, run_json: RunJson, tmp_path: Path) -> None:
    out = f"{tmp_path}/found.geojson"
    # In a folder without a track file.
    log = tmp_path / "friday.csv"
    log.write_bytes(files.log.read_bytes())
    document = run_json("track", log, "--out", out)
    follows(document, TRACK_COMMAND)
    assert document["track"]["source"] == "discovered"
    assert document["out"] == out
    again = run_json("track", files.log, "--track", out)
    assert again["track"]["source"] == "file"
    assert again["track"]["name"] == "found"
    assert again["track"]["length_m"] == pytest.approx(document["track"]["length_m"], abs=0.05)


def test_track_is_recognised_in_the_library(
    files: Files, run_json: RunJson, tmp_path: object
) -> None:
    run_json("track", files.log, "--out", f"{tmp_path}/hollow.geojson")
    document = run_json("track", files.log, "--tracks", tmp_path)
    assert document["track"]["source"] == "library"
    assert "hollow" in document["how_sure"]


def test_check(files: Files, run_json: RunJson) -> None:
    document = run_json("check", files.log)
    follows(document, CHECK)
    read_as = {column["read_as"] for column in document["columns"]}
    assert {"latitude", "longitude", "speed", "course"} <= read_as
    assert any(said.startswith("time") for said in read_as)


def test_debrief_and_report(files: Files, run_json: RunJson, tmp_path: object) -> None:
    options = ("--track", files.track, "--road", "off")
    document = run_json("debrief", files.log, *options, "--no-notes")
    follows(document, DEBRIEF)
    out = f"{tmp_path}/debrief.html"
    written = run_json("report", files.log, *options, "--out", out, "--tables", f"{tmp_path}/t")
    follows(written, REPORT)
    assert "<html" in (files.log.parent / out).read_text(encoding="utf-8")


def test_findings_and_the_circuit_go_to_stderr(files: Files, run: Run) -> None:
    result = run("laps", files.log, "--track", files.track, "--road", "off", "--json")
    assert "circuit: " in result.stderr
    assert result.stdout.count("\n") == 1


def test_without_discovery_the_circuit_is_said_to_be_from_the_file(files: Files, run: Run) -> None:
    result = run("track", files.log, "--track", files.track)
    assert str(files.track) in result.stderr

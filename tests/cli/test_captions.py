"""`lapwright captions`: where the video begins, what is said, and which files there are then."""

from dataclasses import replace
from pathlib import Path

import pytest
import srt
import webvtt
from cli_runs import Files, Run, RunJson
from json_schemas import CAPTIONS
from jsonschema import Draft202012Validator

from lapwright import simulate as sim

OFF = ("--repeat-line", "off")


@pytest.fixture(autouse=True)
def in_a_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="module")
def dated(tmp_path_factory: pytest.TempPathFactory) -> Files:
    """Two timed laps at 5 Hz with date and time."""
    folder = tmp_path_factory.mktemp("dated")
    circuit = sim.invented("wren_hollow")
    run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((2,)), seed=3)
    recording = sim.receive(run, replace(sim.ORDINARY, rate_hz=5.0), seed=4)
    sim.write_gpx(recording, folder / "friday.gpx")
    sim.write_track(circuit, folder / "track.geojson")
    return Files(folder / "friday.gpx", folder / "track.geojson")


def test_both_files_and_what_is_said(files: Files, run: Run, tmp_path: Path) -> None:
    given = ("--line-at", "3:12.4", "--track", files.track, *OFF)
    said = run("captions", files.log, *given)
    assert said.exit_code == 0, said.stderr
    lines = said.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    assert "Written to friday.vtt and friday.srt." in lines
    assert "for the driver at speed" in said.stdout
    assert lines[-1].startswith("Not official timing")
    first = next(line.split() for line in lines if line.split()[:1] == ["1"])
    assert first[1] == "3:12.4"
    vtt = webvtt.read(str(tmp_path / "friday.vtt"))
    cues = list(srt.parse((tmp_path / "friday.srt").read_text(encoding="utf-8")))
    assert len(vtt) == len(cues) == int(lines[0].split()[1])
    begins = next(cue for cue in vtt if cue.text.startswith("Lap 1  0:00.0"))
    assert begins.start == "00:03:12.400"


def test_json(files: Files, run_json: RunJson) -> None:
    document = run_json("captions", files.log, "--line-at", "10", "--lap", "2", "--every", "1",
                        "--out", "on_board.srt", "--track", files.track, *OFF)  # fmt: skip
    assert not list(Draft202012Validator(CAPTIONS).iter_errors(document))
    assert document["out"] == ["on_board.srt"]
    assert not Path("friday.vtt").exists()
    laps = {lap["lap"]: lap for lap in document["laps"]}
    assert laps[2]["video_start_s"] == pytest.approx(10.0)
    assert laps[1]["video_start_s"] < 0.0
    assert 0 not in laps
    best = laps[document["reference"]]
    assert best["delta_s"] is None
    for lap in laps.values():
        if lap["delta_s"] is not None:
            assert lap["delta_s"] == pytest.approx(lap["time_s"] - best["time_s"], abs=1e-6)


def test_a_time_stamp_is_the_same_as_the_line(dated: Files, run_json: RunJson, run: Run) -> None:
    given = ("--track", dated.track, *OFF)
    document = run_json("captions", dated.log, "--line-at", "75.5", *given)
    stamp = document["video_start_utc"]
    again = run_json("captions", dated.log, "--video-start", stamp, *given)
    assert again["video_start_s"] == pytest.approx(document["video_start_s"], abs=1e-5)
    said = run("captions", dated.log, "--video-start", stamp.replace("Z", ""), *given)
    assert said.exit_code == 2
    assert "does not say which zone" in said.stderr
    # A person reads it too.
    said = run("captions", dated.log, "--line-at", "75.5", *given)
    assert f"{stamp[:10]} {stamp[11:17]}" in said.stdout


def test_local_time_is_that_of_the_notes(dated: Files, run_json: RunJson, tmp_path: Path) -> None:
    log = tmp_path / "friday.gpx"
    log.write_bytes(dated.log.read_bytes())
    (tmp_path / "weekend.toml").write_text('timezone = "Atlantic/Azores"\n')
    given = ("--track", dated.track, *OFF)
    utc = run_json("captions", log, "--video-start", "3.25", *given)["video_start_utc"]
    hour = (int(utc[11:13]) - 1) % 24  # UTC-1 in winter (IANA time zone database)
    local = f"{hour:02d}{utc[13:23]} local"
    again = run_json("captions", log, "--video-start", local, *given)
    assert again["video_start_s"] == pytest.approx(3.25, abs=0.001)


@pytest.mark.parametrize(
    ("given", "status", "text"),
    [
        ((), 2, "Say where the video begins"),
        (("--line-at", "1:00", "--video-start", "3"), 2, "Say where the video begins"),
        (("--video-start", "3", "--lap", "2"), 2, "Say where the video begins"),
        (("--line-at", "soon"), 2, "'--line-at': 'soon' is not a time in a video"),
        (("--video-start", "10:15:03"), 1, "the log has no date"),
        (("--video-start", "99999"), 1, "the log is not in the video"),
        (("--line-at", "1", "--lap", "77"), 1, "there is no lap 77"),
        (("--line-at", "1", "--reference", "77"), 1, "there is no lap 77"),
        (("--line-at", "1", "--every", "0"), 2, "0"),
        (("--line-at", "1", "--out", "a.txt"), 1, "end with .vtt or .srt"),
        (("--line-at", "1", "--out", "none/a.vtt"), 1, "there is no folder none"),
        (("--line-at", "1", "--out", "mine.srt"), 1, "Lapwright has not written it"),
    ],
)  # fmt: skip
def test_what_does_not_do(
    given: tuple[str, ...], status: int, text: str, files: Files, run: Run, tmp_path: Path
) -> None:
    (tmp_path / "mine.srt").write_text("1\n00:00:01,000 --> 00:00:02,000\nGood lap, that.\n")
    before = {p: p.read_bytes() for p in tmp_path.iterdir() if p.is_file()}
    said = run("captions", files.log, *given, "--track", files.track, *OFF)
    assert said.exit_code == status
    assert text in said.stderr
    assert said.stdout == ""
    after = {p: p.read_bytes() for p in tmp_path.iterdir() if p.is_file()}
    assert after == before


def test_a_log_is_never_written_over(files: Files, run: Run, tmp_path: Path) -> None:
    log = tmp_path / "friday.srt"
    log.write_bytes(files.log.read_bytes())
    said = run("captions", log, "--line-at", "1", "--track", files.track, *OFF)
    assert said.exit_code == 1
    assert "is not overwritten" in said.stderr
    assert log.read_bytes() == files.log.read_bytes()

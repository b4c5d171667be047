"""`lapwright live` as it is typed."""

import json
from pathlib import Path

import pytest
from cli_runs import Files, Run
from json_schemas import LIVE
from jsonschema import Draft202012Validator

NMEA = Path("sample_sessions/friday_test_ivo.nmea").resolve()


@pytest.fixture(scope="module")
def two_laps(files: Files, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The log up to the third timed lap: the first begins after 183 s, a lap takes 96 s."""
    log = tmp_path_factory.mktemp("two_laps") / "log.csv"
    lines = files.log.read_text(encoding="utf-8").splitlines(keepends=True)
    log.write_text("".join(lines[: 5 * (183 + 2 * 96 + 40)]), encoding="utf-8")
    return log


@pytest.mark.usefixtures("cached")
def test_a_replay_as_json_lines(files: Files, two_laps: Path, run: Run) -> None:
    result = run("live", two_laps, "--replay", "max", "--track", files.track, "--reference",
                 files.log, "--json")  # fmt: skip
    assert result.exit_code == 0, result.stderr
    objects = [json.loads(line) for line in result.stdout.splitlines()]
    validator = Draft202012Validator(LIVE)
    for document in objects:
        assert [p.message for p in validator.iter_errors(document)] == []
    assert {one["event"] for one in objects} == {"going", "sector", "lap", "learned", "receiving"}
    last = {one["lap"]: one for one in objects if one["event"] == "lap"}
    assert [last[n]["kind"] for n in sorted(last)] == ["out", "timed", "timed"]
    assert objects[-1]["state"] == "ended"


@pytest.mark.usefixtures("cached")
def test_a_replay_that_is_no_screen_is_a_line_each(files: Files, two_laps: Path, run: Run) -> None:
    result = run("live", two_laps, "--replay", "max", "--track", files.track, "--reference",
                 files.log, "--noise-from", files.log)  # fmt: skip
    lines = result.stdout.splitlines()
    assert sum(line.startswith("lap 2  1:") for line in lines) >= 1
    assert lines[-1].startswith("ENDED")
    assert "Nothing here is for the driver at speed" in result.stderr
    assert "\x1b" not in result.stdout


def test_standard_input_is_recorded_to_the_byte(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    data = NMEA.read_bytes()[:40_000]
    (tmp_path / "given.nmea").write_bytes(data)
    with (tmp_path / "given.nmea").open() as file:
        monkeypatch.setattr(
            "lapwright.live_session.receiving.sources.sys.stdin", file, raising=True
        )
        result = _in_place(["live", "-", "--record", "kept.nmea", "--json"], file)
    assert result == 0
    assert (tmp_path / "kept.nmea").read_bytes() == data


def _in_place(words: list[str], stdin: object) -> int:
    """Run without the test runner's own standard input."""
    import contextlib
    import io

    from lapwright.cli import cli

    with contextlib.redirect_stdout(io.StringIO()):
        try:
            cli(words, standalone_mode=False)
        except SystemExit as end:
            return int(end.code or 0)
    return 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("nowhere.csv",), "is not a known source"),
        (("tcp://127.0.0.1:9", "--record", "there.nmea"), "is not overwritten"),
        (("tcp://127.0.0.1:9", "--page", "nonsense"), "is not an address for a page"),
        (("nowhere.csv", "--replay", "1"), "there is no such file"),
    ],
)
def test_what_cannot_be_is_one_line(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "there.nmea").write_text("kept")
    result = run("live", *words)
    assert result.exit_code == 1
    assert said in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
    assert (tmp_path / "there.nmea").read_text() == "kept"
    assert not list(tmp_path.glob("live_*"))


@pytest.mark.parametrize("speed", ["fast", "-1", "nan", "inf"])
def test_a_speed_that_is_none_is_wrong_usage(run: Run, files: Files, speed: str) -> None:
    result = run("live", files.log, "--replay", speed)
    assert result.exit_code == 2
    assert "max for as fast as it goes" in result.stderr

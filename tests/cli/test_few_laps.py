"""Every command on logs with hardly a lap: none, one that does not count, one, two."""

from collections.abc import Callable
from pathlib import Path

import pytest
from cli_runs import Files, Run, RunJson
from json_schemas import CORNERS, DEBRIEF, LAPS, RACE
from jsonschema import Draft202012Validator

RATE_HZ = 5
# How many laps count, how many are timed.
LAPS_THERE = {"none": (0, 0), "flagged": (0, 1), "one": (1, 1), "two": (2, 2)}


@pytest.fixture(scope="module")
def cut_logs(files: Files, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The simulated log, cut off after so many of its laps."""
    folder = tmp_path_factory.mktemp("cut")
    lines = files.log.read_text(encoding="utf-8").splitlines(keepends=True)
    # The first lap begins after 183 s; a lap takes 96 s.
    ends = {name: RATE_HZ * (183 + 80 + 96 * timed) for name, (_, timed) in LAPS_THERE.items()}
    out = {}
    for name, end in ends.items():
        kept = lines[:end]
        if name == "flagged":
            gap = RATE_HZ * (183 + 40)
            kept = kept[:gap] + kept[gap + RATE_HZ * 6 :]
        out[name] = folder / f"{name}.csv"
        out[name].write_text("".join(kept), encoding="utf-8")
    return out


Told = Callable[..., str]


@pytest.fixture(autouse=True)
def _cached(cached: None) -> None:
    """Work out once what every command says something of."""


@pytest.fixture
def told(files: Files, run: Run) -> Told:
    """What a command says; it must succeed."""

    def call(command: str, log: Path, *more: object) -> str:
        result = run(command, log, *more, "--track", files.track, "--road", "off")
        assert result.exit_code == 0, result.output
        return result.stdout

    return call


@pytest.mark.parametrize("name", LAPS_THERE)
def test_every_command_has_an_answer(
    cut_logs: dict[str, Path], told: Told, files: Files, run_json: RunJson, name: str,
    tmp_path: Path,
) -> None:  # fmt: skip
    log, (clean, timed) = cut_logs[name], LAPS_THERE[name]
    options = ("--track", files.track, "--road", "off")
    for command, schema in (
        ("laps", LAPS), ("corners", CORNERS), ("debrief", DEBRIEF), ("race", RACE),
    ):  # fmt: skip
        more = ("--no-notes",) if command == "debrief" else ()
        document = run_json(command, log, *more, *options)
        assert [str(e) for e in Draft202012Validator(schema).iter_errors(document)] == []
        if command == "laps":
            laps = document["laps"]
            assert sum(lap["kind"] == "timed" for lap in laps) == timed
            assert sum(lap["representative"] for lap in laps) == clean
    judged = (
        "No clean lap, so there is nothing to go by"
        if clean == 0
        else f"Too few clean laps ({clean})"
    )
    raced = told("race", log)
    assert f"Too few clean laps ({clean}) to tell whether a lap was held up." in raced
    assert ("No full lap was driven." in raced) == (timed == 0)
    assert judged in told("corners", log)
    assert judged in told("debrief", log, "--no-notes")
    tables = tmp_path / "tables"
    told("report", log, "--out", tmp_path / "page.html", "--pdf", tmp_path / "page.pdf",
         "--tables", tables)  # fmt: skip
    assert judged in " ".join((tmp_path / "page.html").read_text(encoding="utf-8").split())
    assert (tmp_path / "page.pdf").stat().st_size > 1000
    assert any(tables.iterdir())


def test_why_there_is_no_best_lap(cut_logs: dict[str, Path], told: Told) -> None:
    assert "No full lap was driven" in told("laps", cut_logs["none"])
    said = told("laps", cut_logs["flagged"])
    assert "No lap counts as clean, so there is no best lap." in said
    assert "line to line" not in said
    assert "median of all timed laps, as none is clean" in told("corners", cut_logs["flagged"])


def test_nothing_to_compare_with_is_one_line(
    cut_logs: dict[str, Path], files: Files, run: Run
) -> None:
    options = ("--track", files.track, "--road", "off")
    result = run("compare", cut_logs["flagged"], 1, *options)
    assert result.exit_code == 1
    assert "no lap counts as clean" in result.stderr.splitlines()[-1]
    assert run("compare", cut_logs["flagged"], 1, "--reference", 1, *options).exit_code == 0
    assert run("compare", cut_logs["one"], 1, *options).exit_code == 0


def test_a_weekend_of_short_logs(
    cut_logs: dict[str, Path], files: Files, run: Run, tmp_path: Path
) -> None:
    result = run("weekend", cut_logs["one"].parent, "--track", files.track, "--road", "off",
                 "--out", tmp_path / "out")  # fmt: skip
    assert result.exit_code == 0, result.output
    for name in LAPS_THERE:
        assert name in result.stdout


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("none", "Next time: two laps or more in a row"),
        ("flagged", "Laps set aside, and why: lap 1 ("),
        ("one", "With one clean lap there is nothing to compare it with."),
        ("two", "the other one, against lap"),
    ],
)
def test_never_only_silence(cut_logs: dict[str, Path], told: Told, name: str, said: str) -> None:
    screen = " ".join(told("debrief", cut_logs[name], "--no-notes").split())
    assert "What these laps do show:" in screen
    assert said in screen

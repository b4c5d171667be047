"""Every command in a terminal of 80 columns, without colour, with few letters, and odd names."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from cli_runs import Files
from click.testing import CliRunner, Result
from nasty import cannot_be_seen

from lapwright.cli import COMMANDS, cli
from lapwright.escaping.columns_of_text import columns_of

# Made once, in one process.
pytestmark = pytest.mark.xdist_group("terminals")

CIRCUIT = "Größe ± 鈴鹿 \u202e\x1b[31m Hollow"
NOTES = """
[logs."{name}"]
driver = "Łucja \\u001b]0;x\\u0007 鈴"
car = "\\u202ewisp <b>"
tyres = "=1+1"
notes = "−3 °C, wet – later dry"
"""


@pytest.fixture(scope="module")
def odd(files: Files, tmp_path_factory: pytest.TempPathFactory) -> Files:
    """The log and circuit under names that want to be more than names."""
    folder = tmp_path_factory.mktemp("odd")
    log = folder / "Fräitag \u202e\x1b[2J ±.csv"
    log.write_bytes(files.log.read_bytes())
    track = folder / "ring.geojson"
    document = json.loads(files.track.read_text(encoding="utf-8"))
    track.write_text(json.dumps({**document, "name": CIRCUIT}), encoding="utf-8")
    name = log.name.replace("\u202e", "\\u202e").replace("\x1b", "\\u001b")
    (folder / "weekend.toml").write_text(NOTES.format(name=name), encoding="utf-8")
    return Files(log, track)


def calls(odd: Files, out: Path) -> dict[str, list[str]]:
    """Each command as its user calls it."""
    log, fast = str(odd.log), ["--track", str(odd.track), "--repeat-line", "off"]
    return {
        "debrief": [log, "--no-notes", *fast],
        "laps": [log, *fast],
        "compare": [log, "2", *fast],
        "corners": [log, *fast],
        "race": [log, *fast],
        "track": [log, *fast],
        "check": [log],
        "align": [log, log],
        "report": [log, "--out", str(out / "r.html"), "--tables", str(out / "t"), *fast],
        "captions": [log, "--line-at", "0:30", "--out", str(out / "c.vtt"), *fast],
        "weekend": [str(odd.log.parent), "--out", str(out / "w"), "--workers", "1", *fast],
    }


@pytest.fixture(autouse=True)
def in_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tables are as wide as a terminal of 80 columns."""
    monkeypatch.setattr("lapwright.cli.printing.table.columns", lambda: 80)


def ran(encoding: str, command: str, arguments: list[str]) -> Result:
    # stdout and stderr apart, each with the letters of the encoding and not one more.
    said = CliRunner(charset=encoding, env={"NO_COLOR": "1"}).invoke(cli, [command, *arguments])
    if said.exception is not None and not isinstance(said.exception, SystemExit):
        raise said.exception
    return said


def wide_lines(text: str) -> list[str]:
    """Lines of a table or a sentence that are too wide; those that quote a path have to be."""
    return [
        line for line in text.splitlines()
        if columns_of(line) > 80 and os.sep not in line and ".csv" not in line
    ]  # fmt: skip


@pytest.mark.parametrize(
    "encoding",
    ["ascii", pytest.param("cp1252", marks=pytest.mark.thorough),
     pytest.param("utf-8", marks=pytest.mark.thorough)],
)  # fmt: skip
# `live` follows a source for as long as it sends, see tests/cli/live.
@pytest.mark.parametrize("command", sorted(set(COMMANDS) - {"live"}))
def test_every_command_prints(command: str, encoding: str, odd: Files, tmp_path: Path) -> None:
    said = ran(encoding, command, calls(odd, tmp_path)[command])
    assert said.exit_code == 0, said.output
    assert said.stdout.strip()
    # No command to the terminal: no colour, no other name turned round, nothing wiped.
    assert cannot_be_seen(said.output) == []
    assert wide_lines(said.stdout) == []
    if encoding == "ascii":
        assert said.output.isascii()


@pytest.mark.parametrize("command", ["laps", "check", "weekend"])
def test_json_is_the_same_object_everywhere(command: str, odd: Files, tmp_path: Path) -> None:
    arguments = [*calls(odd, tmp_path)[command], "--json"]
    plain, whole = (json.loads(ran(e, command, arguments).stdout_bytes) for e in ("ascii", "utf-8"))
    assert plain == whole
    if command == "laps":
        assert whole["log"]["path"] == str(odd.log)


def test_a_table_in_ascii_has_its_columns_under_their_heads(odd: Files, tmp_path: Path) -> None:
    said = ran("ascii", "laps", calls(odd, tmp_path)["laps"]).stdout.splitlines()
    head = next(k for k, line in enumerate(said) if line.startswith("lap  *"))
    at = said[head].index("+-") + 2
    rows = said[head + 1 : said.index("", head)]
    # The error bar ends below its head: digits, and then a blank.
    bars = [row[at - 5 : at + 1] for row in rows if row[5:6] == "*"]
    assert bars
    assert all(bar.strip()[-1].isdigit() and bar.endswith(" ") for bar in bars)


def test_a_machine_without_a_language_can_do_it(odd: Files) -> None:
    # As in a container or over a bare line: no UTF-8 anywhere, and a strict stdout.
    env = {
        **os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0",
        "PYTHONIOENCODING": "ascii:strict", "NO_COLOR": "1", "COLUMNS": "80",
    }  # fmt: skip
    plain = odd.log.with_name("plain.csv")
    plain.write_bytes(odd.log.read_bytes())
    arguments = ["laps", str(plain), "--track", str(odd.track), "--repeat-line", "off"]
    said = subprocess.run(
        [sys.executable, "-m", "lapwright", *arguments], env=env, capture_output=True, check=False
    )
    plain.unlink()
    assert said.returncode == 0, said.stderr
    assert said.stdout.isascii()
    assert b"+-: the receiver's error" in said.stdout
    assert said.stderr.isascii()

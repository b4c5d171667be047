"""A log in which the car never passes a line is refused in one line, whatever track is there."""

from pathlib import Path

import pytest
from cli_runs import Files, Run


@pytest.fixture(scope="module")
def parked(files: Files, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first fix of a good log again and again: a car that stands."""
    header, first, *_ = files.log.read_text(encoding="utf-8").splitlines()
    assert header.startswith("time (s),")
    start, _, rest = first.partition(",")
    rows = [f"{float(start) + 0.2 * k:.3f},{rest}" for k in range(400)]
    path = tmp_path_factory.mktemp("parked") / "parked.csv"
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


@pytest.mark.parametrize("beside", [False, True])
@pytest.mark.parametrize("command", ["laps", "debrief", "corners", "report"])
def test_one_line_and_no_traceback(
    parked: Path, files: Files, run: Run, tmp_path: Path, command: str, beside: bool
) -> None:
    log = tmp_path / "parked.csv"
    log.write_bytes(parked.read_bytes())
    if beside:
        (tmp_path / "track.geojson").write_bytes(files.track.read_bytes())
    result = run(command, log, "--repeat-line", "off")
    assert result.exit_code == 1
    assert "the car hardly moved" in result.stderr.splitlines()[-1]
    assert result.stdout == ""

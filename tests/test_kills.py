"""What `.ci/kills.py` finds, and that it would find what is half-written."""

import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(os.name != "posix", reason="processes are killed by signals")
ROOT = Path(__file__).parents[1]


@pytest.fixture(autouse=True)
def killing_code(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let what lies in `.ci` be imported, and forgotten again."""
    monkeypatch.syspath_prepend(ROOT / ".ci")
    yield
    sys.modules.pop("kills", None)


@pytest.mark.slow
def test_a_command_that_is_killed_leaves_all_or_nothing(tmp_path: Path) -> None:
    import kills

    case = next(one for one in kills.CASES if one.name == "track --save")
    said = kills.kill_often(case, 2, seed=5, work=tmp_path)
    assert said.startswith("track --save: 2 kills within ")
    assert "half-written 0; " in said
    assert said.endswith("after the next run 0")


def test_every_command_that_writes_is_killed() -> None:
    import kills

    commands = {case.arguments(Path("in"), Path("out"))[0] for case in kills.CASES}
    # Those with an option for an output, and the debrief, which writes notes.
    assert commands == {"align", "captions", "debrief", "report", "track", "weekend"}


def test_what_is_half_written_lost_or_left_is_found(tmp_path: Path) -> None:
    import kills

    before, after = {"a": "old", "b": "old", "log": "x"}, {"a": "new", "b": "new", "log": "x"}
    (tmp_path / "a").write_bytes(b"half")
    (tmp_path / f"{kills.PART}1").write_bytes(b"half")
    found = kills.Found(kills=1)
    kills._judge(found, before, after, tmp_path)
    assert found.most_parts == 1
    assert found.wrong == [
        "kill 1: a is neither old nor new", "kill 1: b is gone", "kill 1: log is gone",
    ]  # fmt: skip
    assert "half-written 3; " in found.line("x", 1.0)

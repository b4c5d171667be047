"""A run that is killed loses no log that was done, and comes to the same tables in the end."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import lapwright
from lapwright.batch import run_weekend
from lapwright.batch.worker import Result
from lapwright.kept import Store

pytestmark = pytest.mark.skipif(os.name != "posix", reason="processes are killed by signals")


def _start(folder: Path, out: Path, cache: Path) -> "subprocess.Popen[bytes]":
    command = ["weekend", str(folder), "--repeat-line", "off", "--out", str(out), "--workers", "2"]
    source = str(Path(lapwright.__file__).parents[1])
    return subprocess.Popen(
        [sys.executable, "-m", "lapwright", *command], stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL, start_new_session=True,
        env=os.environ | {"LAPWRIGHT_CACHE": str(cache), "PYTHONPATH": source},
    )  # fmt: skip


def _done(cache: Path) -> int:
    store, end = Store(cache), ".lasting.kept"
    keys = [file.name.removesuffix(end) for file in cache.glob(f"*{end}")]
    return sum(isinstance(store.get_lasting(key), Result) for key in keys)


def _tables(out: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in out.glob("*.csv")}


@pytest.mark.slow
def test_killed_when_the_first_log_is_done(folder: Path, tmp_path: Path) -> None:
    cache, out = tmp_path / "killed", folder / "out"
    run = _start(folder, out, cache)
    until = time.monotonic() + 120.0
    while _done(cache) < 1:
        assert run.poll() is None
        assert time.monotonic() < until
        time.sleep(0.01)
    run.send_signal(signal.SIGKILL)
    run.wait()
    # What the other process had under way may be done just now.
    time.sleep(1.0)
    done = _done(cache)
    again = run_weekend(folder, out, repeat_line=False, workers=1, cache=cache)
    assert (again.done, again.kept) == (2 - done, done)
    assert done >= 1
    whole = run_weekend(folder, folder / "whole", repeat_line=False, workers=1, cache=None)
    assert _tables(out) == _tables(whole.out)


@pytest.mark.slow
def test_two_runs_at_once(folder: Path, tmp_path: Path) -> None:
    # The circuit is found by both, and kept once.
    (folder / "track.geojson").unlink()
    runs = [_start(folder, folder / "out", tmp_path / "both") for _ in range(2)]
    assert [run.wait(300.0) for run in runs] == [0, 0]
    assert len(list((folder / "out" / "circuits").glob("*.geojson"))) == 1
    assert not list((folder / "out").rglob(".*"))
    whole = run_weekend(folder, folder / "whole", repeat_line=False, workers=1, cache=None)
    assert _tables(folder / "out") == _tables(whole.out)

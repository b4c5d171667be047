"""The logs of a folder on a Dask scheduler that the test starts."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import batch_jobs
import pandas as pd
import pytest
from click.testing import CliRunner

from lapwright.batch import run_weekend
from lapwright.batch.cluster import executor_at
from lapwright.batch.pool import each
from lapwright.cli import cli
from lapwright.errors import LapwrightError


@pytest.fixture
def scheduler(monkeypatch: pytest.MonkeyPatch) -> Iterator[Any]:
    """A scheduler with two workers, each a process of one thread."""
    distributed = pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")
    monkeypatch.setenv("PYTHONPATH", str(Path(batch_jobs.__file__).parent))
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        yield cluster


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_a_weekend_on_a_scheduler(scheduler: Any, folder: Path) -> None:
    (folder / "broken.csv").write_bytes(bytes(range(256)) * 30)
    command = ["weekend", str(folder), "--repeat-line", "off", "--out", str(folder / "there")]
    run = CliRunner().invoke(cli, [*command, "--scheduler", scheduler.scheduler_address])
    assert run.exit_code == 3, run.output
    assert "3 analysed now, 0 unchanged" in run.stdout
    here = run_weekend(folder, folder / "here", repeat_line=False, workers=1, cache=None)
    for name in ("laps", "passes", "sectors", "findings"):
        there = pd.read_csv(folder / "there" / f"{name}.csv")
        pd.testing.assert_frame_equal(there, pd.read_csv(here.out / f"{name}.csv"))
    # What was done there is kept here.
    again = run_weekend(folder, folder / "there", repeat_line=False, workers=1)
    assert (again.done, again.kept) == (1, 2)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_a_worker_that_dies_takes_nobody_along(scheduler: Any) -> None:
    with executor_at(scheduler.scheduler_address) as executor:
        done = dict(
            each(batch_jobs.work, ["a", "die", "b"], 9, lambda job, why: f"{job}: {why}", executor)
        )
    assert (done[0], done[2]) == ("A", "B")
    assert done[1].startswith("die: it was lost where it was worked on (KilledWorker")


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_a_worker_does_not_note_where_our_work_is(scheduler: Any) -> None:
    # It keeps an hour of such notes, so a season of logs would fill its memory.
    with executor_at(scheduler.scheduler_address) as executor:
        assert executor.submit(batch_jobs.spin, "a").result() == "a"
    with scheduler.get_client() as client:
        seen = "".join(client.run(lambda dask_worker: str(dask_worker.profile_recent)).values())
        assert "_in_a_thread" in seen
        assert "spin" not in seen


@pytest.mark.filterwarnings("ignore")
def test_nobody_answers(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed", reason="the extra 'cluster' is not installed")
    monkeypatch.setattr("lapwright.batch.cluster._ANSWERS_WITHIN_S", 1)
    for address in ("tcp://127.0.0.1:9", "nonsense://x"):
        run = CliRunner().invoke(cli, ["weekend", str(folder), "--scheduler", address])
        assert run.exit_code == 1
        assert f"{address}: no Dask scheduler answers" in run.stderr
        assert len(run.stderr.strip().splitlines()) == 1


def test_without_dask_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(LapwrightError, match=r"pip install 'lapwright\[cluster\]'"),
        executor_at("tcp://127.0.0.1:9"),
    ):
        pass

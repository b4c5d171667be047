"""What `.ci/benchmark.py` measures with, and the page on which its figures stand."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(not hasattr(os, "wait4"), reason="measured where there is wait4")
ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "performance.md"


@pytest.fixture(autouse=True)
def measuring_code(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let what lies in `.ci` be imported, and forgotten again."""
    monkeypatch.syspath_prepend(ROOT / ".ci")
    yield
    for name in [one for one in sys.modules if one.partition(".")[0] == "benchmarking"]:
        del sys.modules[name]


def test_the_page_is_as_the_benchmark_wrote_it() -> None:
    from benchmarking.figures import read_reached
    from benchmarking.page import written

    assert written(PAGE, *read_reached()) == PAGE.read_text(encoding="utf-8")


def test_every_limit_is_on_the_page() -> None:
    from benchmarking.figures import FIGURES, read_reached
    from benchmarking.page import shown

    _, reached = read_reached()
    lines = PAGE.read_text(encoding="utf-8").splitlines()
    for key, figure in FIGURES.items():
        if figure.quick:
            limit = figure.limit(reached[key])
            rows = [line for line in lines if line.startswith(f"| {figure.label} |")]
            assert len(rows) == 1, key
            assert shown(figure, limit) in rows[0]
            assert not figure.misses(reached[key], limit)


def test_what_is_a_half_slower_passes_its_limit_and_what_is_a_quarter_slower_does_not() -> None:
    from benchmarking.figures import Figure

    figure = Figure("a command")
    assert figure.misses(3.0, figure.limit(2.0))
    assert not figure.misses(2.5, figure.limit(2.0))


def test_where_more_is_better_less_passes_the_limit() -> None:
    from benchmarking.figures import Figure

    figure = Figure("two processes", 1.8, more_is_better=True)
    assert figure.misses(1.2, figure.limit(1.8))
    assert not figure.misses(1.5, figure.limit(1.8))
    assert figure.misses(1.7, 1.8)


def test_each_figure_that_is_measured_is_described() -> None:
    from benchmarking import measuring
    from benchmarking.figures import FIGURES

    names = {group.__name__ for group in (*measuring.QUICK, *measuring.REST)}
    assert len(names) == len(measuring.QUICK) + len(measuring.REST)
    logs = {f"rate-{rate}" for rate in measuring.RATES_HZ}
    logs |= {f"laps-{laps}" for laps in measuring.LAP_COUNTS}
    assert logs <= set(FIGURES)


def test_cpu_time_is_work_and_not_waiting(tmp_path: Path) -> None:
    from benchmarking.process import environment, run

    env = environment(tmp_path)
    waits = run(["-c", "import time; time.sleep(0.5)"], env)
    works = run(["-c", "import time\nwhile time.process_time() < 0.5: pass"], env)
    assert waits.wall_s > 0.5 > waits.cpu_s
    assert works.cpu_s > 0.5


def test_memory_is_the_most_that_was_held(tmp_path: Path) -> None:
    # In a process of its own, as the benchmark is: whoever starts one is counted with it.
    script = (
        "from pathlib import Path\n"
        "from benchmarking.process import environment, run\n"
        f"env = environment(Path({str(tmp_path)!r}))\n"
        "print(run(['-c', \"held = b'x' * 400_000_000; del held\"], env).peak_mb)\n"
    )
    here = {**os.environ, "PYTHONPATH": str(ROOT / ".ci")}
    done = subprocess.run([sys.executable, "-c", script], env=here, capture_output=True, check=True)
    # Python itself takes some 10 MB.
    assert 400.0 < float(done.stdout) < 450.0


def test_a_command_that_fails_ends_it(tmp_path: Path) -> None:
    from benchmarking.process import environment, run

    with pytest.raises(SystemExit, match="no such thing"):
        run(["-c", "raise SystemExit('no such thing')"], environment(tmp_path))


def test_who_measures_loads_nothing_large() -> None:
    # The system counts the memory of whoever starts a process as the least it used.
    code = (
        f"import sys; sys.path.insert(0, {str(ROOT / '.ci')!r}); import benchmark\n"
        "print(sorted({'numpy', 'pandas', 'scipy', 'lapwright'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"

"""
Measure the figures: everything in turns with what it is compared with.

A busy machine or a hot one then slows both, and their ratio stays.
"""

import os
import shutil
import statistics
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from benchmarking.figures import LAP_COUNTS, RATES_HZ
from benchmarking.process import Used, environment, run

SAMPLES = Path(__file__).parents[2] / "sample_sessions"
# Heavy ones are not run more often than this.
FEW = 3


@dataclass
class Bench:
    """
    Where it is measured, and how often.

    `folder` is a temporary folder with the logs and all that the commands write.
    """

    folder: Path
    repeats: int

    def __post_init__(self) -> None:
        self.env = environment(self.folder / "home")
        self.logs = self.folder / "logs"
        self._caches = 0
        shutil.copytree(SAMPLES, self.folder / "samples")
        self.logs.mkdir()

    def write_logs(self, *names: str) -> None:
        """Have simulated logs written."""
        run([Path(__file__).with_name("logs.py"), self.logs, *names], self.env)

    def fresh(self) -> dict[str, str]:
        """Surroundings in which nothing has been kept yet."""
        self._caches += 1
        return self.env | {"LAPWRIGHT_CACHE": str(self.folder / f"cache_{self._caches}")}

    def command(self, name: str, *arguments: object, env: dict[str, str] | None = None) -> Used:
        """Run a command of Lapwright."""
        return run(["-m", "lapwright", name, *arguments], self.fresh() if env is None else env)

    def first_and_again(self, name: str, *arguments: object) -> tuple[Used, Used]:
        """Run a command twice: with nothing kept, and with what the first has kept."""
        env = self.fresh()
        return self.command(name, *arguments, env=env), self.command(name, *arguments, env=env)

    def pandas(self, log: Path) -> float:
        """CPU time that pandas takes to be imported and to read a log."""
        with log.open(encoding="utf-8", errors="replace") as file:
            skipped = next(k for k, line in enumerate(file) if "lat" in line.casefold())
        return run(["-c", f"import pandas; pandas.read_csv({str(log)!r}, skiprows={skipped})"],
                   self.env).cpu_s  # fmt: skip

    def medians(
        self, once: Callable[[], dict[str, float]], repeats: int | None = None
    ) -> dict[str, float]:
        """Measure several times; the median of each figure."""
        rounds = [once() for _ in range(self.repeats if repeats is None else repeats)]
        return {key: statistics.median(one[key] for one in rounds) for key in rounds[0]}


def sample(bench: Bench) -> dict[str, float]:
    """The commands between two sessions, on the sample weekend."""
    log = bench.folder / "samples" / "friday_test.csv"
    page = bench.folder / "r.html"
    commands = {"laps": (log,), "debrief": (log, "--no-notes"), "report": (log, "--out", page)}
    # Byte code and the font list of matplotlib are there from the second run on.
    bench.command("report", log, "--out", page)

    def once() -> dict[str, float]:
        theirs_s = bench.pandas(log)
        out = {}
        for name, arguments in commands.items():
            first, again = bench.first_and_again(name, *arguments)
            out[f"friday {name} first"] = first.cpu_s / theirs_s
            out[f"friday {name} again"] = again.cpu_s / theirs_s
        return out

    return bench.medians(once)


def hour(bench: Bench) -> dict[str, float]:
    """An hour at 25 Hz, and the start of the program."""
    bench.write_logs("fixes-90000-25")
    log = bench.logs / "fixes-90000-25.csv"
    track = "--track", bench.logs / "track.geojson"

    def once() -> dict[str, float]:
        theirs_s = bench.pandas(log)
        first, again = bench.first_and_again("laps", log, *track)
        pandas_s = run(["-c", "import pandas"], bench.env).cpu_s
        return {
            "hour laps first": first.cpu_s / theirs_s,
            "hour laps again": again.cpu_s / theirs_s,
            "hour memory": first.peak_mb,
            "import": run(["-c", "import lapwright"], bench.env).cpu_s / pandas_s,
            "help": run(["-m", "lapwright", "--help"], bench.env).cpu_s / pandas_s,
        }

    return bench.medians(once)


def session_before(bench: Bench) -> dict[str, float]:
    """A report that looks at the session before as well."""
    log, page = bench.folder / "samples" / "saturday_practice.csv", bench.folder / "s.html"

    def once() -> dict[str, float]:
        theirs_s = bench.pandas(log)
        first, again = bench.first_and_again("report", log, "--out", page)
        return {
            "saturday report first": first.cpu_s / theirs_s,
            "saturday report again": again.cpu_s / theirs_s,
        }

    return bench.medians(once)


def growth(bench: Bench) -> dict[str, float]:
    """Ten thousand, a hundred thousand and a million fixes."""
    # At 100 Hz ten thousand would be a single lap.
    names = {f"fixes-{n}-{hz}": n for n, hz in ((10**4, 25), (10**5, 100), (10**6, 100))}
    bench.write_logs(*names)
    track = "--track", bench.logs / "track.geojson"

    def once() -> dict[str, float]:
        start_s = run(["-c", "import lapwright.cli.laps"], bench.env).cpu_s
        used = {name: bench.command("laps", bench.logs / f"{name}.csv", *track) for name in names}
        out = {name: used[name].cpu_s / bench.pandas(bench.logs / f"{name}.csv") for name in names}
        per_fix_s = {name: (used[name].cpu_s - start_s) / n for name, n in names.items()}
        out["growth"] = per_fix_s["fixes-1000000-100"] / per_fix_s["fixes-100000-100"]
        return out | {"million memory": used["fixes-1000000-100"].peak_mb}

    return bench.medians(once, min(bench.repeats, FEW))


def rates(bench: Bench) -> dict[str, float]:
    """One session as receivers of several rates log it."""
    return _each(bench, "laps", [f"rate-{rate}" for rate in RATES_HZ])


def lap_counts(bench: Bench) -> dict[str, float]:
    """Reports of few laps and of many."""
    return _each(bench, "report", [f"laps-{laps}" for laps in LAP_COUNTS])


def _each(bench: Bench, command: str, names: list[str]) -> dict[str, float]:
    bench.write_logs(*names)
    track = "--track", bench.logs / "track.geojson"
    page = ("--out", bench.folder / "n.html") if command == "report" else ()

    def once() -> dict[str, float]:
        logs = {name: bench.logs / f"{name}.csv" for name in names}
        return {
            name: bench.command(command, log, *track, *page).cpu_s / bench.pandas(log)
            for name, log in logs.items()
        }

    return bench.medians(once, min(bench.repeats, FEW))


def weekend(bench: Bench) -> dict[str, float]:
    """A folder of logs, by wall time: more processes are no less work."""
    if (os.cpu_count() or 1) < 2:
        print("one processor only: weekend is not measured", file=sys.stderr)
        return {}
    bench.write_logs("weekend")
    outs = (bench.folder / f"out_{k}" for k in range(10**6))

    def once() -> dict[str, float]:
        wall_s = {}
        for workers in (1, 2):
            env, out = bench.fresh(), next(outs)
            arguments = bench.logs / "weekend", "--out", out, "--workers", workers
            wall_s[workers] = bench.command("weekend", *arguments, env=env).wall_s
        again_s = bench.command("weekend", *arguments, env=env).wall_s
        return {"workers": wall_s[1] / wall_s[2], "unchanged": again_s}

    return bench.medians(once, min(bench.repeats, FEW))


QUICK: tuple[Callable[[Bench], dict[str, float]], ...] = (sample, hour)
REST: tuple[Callable[[Bench], dict[str, float]], ...] = (
    session_before, growth, rates, lap_counts, weekend,
)  # fmt: skip


def machine(bench: Bench) -> str:
    """Say on what it was measured, and how quick that is."""
    code = (
        "import os, platform, numpy, pandas, scipy\n"
        "print(f'{os.cpu_count()} processors ({platform.machine()}), {platform.system()}, '"
        "f'Python {platform.python_version()}, numpy {numpy.__version__}, '"
        "f'pandas {pandas.__version__}, scipy {scipy.__version__}')"
    )
    said = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=bench.env
    )
    theirs_s = bench.pandas(bench.folder / "samples" / "friday_test.csv")
    return f"{said.stdout.strip()}; pandas takes {theirs_s:.2f} s of CPU time for `friday_test.csv`"


def groups(*, quick: bool) -> Iterator[Callable[[Bench], dict[str, float]]]:
    """What is measured, in order."""
    yield from QUICK
    if not quick:
        yield from REST

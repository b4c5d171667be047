"""
Kill every command that writes, again and again at random moments: nothing may be left half-written.

    .venv/bin/python .ci/kills.py --kills 20            # all commands; prints one line each
    .venv/bin/python .ci/kills.py --kills 5 track        # those whose name begins so

Each command is run once to its end and timed, then killed (SIGKILL, so that it cannot tidy up) at
moments spread at random over that time.  After every kill each of its outputs has to be what it
was before or what a whole run makes, byte for byte.  Nothing else in the folders may have changed
but for hidden files of the killed run, and the next run that ends by itself clears those away.
"""

import argparse
import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "src"))

from lapwright import simulate as sim  # noqa: E402 - from the source beside this file
from lapwright.outputs import PART  # noqa: E402

# Written over outputs before each kill, so that old and new can be told apart.
OLD = b"Made by Lapwright; old\n"
OFF = ("--repeat-line", "off")


@dataclass(frozen=True)
class Case:
    """
    A command that writes.

    Attributes
    ----------
    name : str
    arguments : callable
        From the folder of the logs and that of the outputs.
    old : tuple of str
        Outputs that are there before, with other contents, below the folder of everything.
    """

    name: str
    arguments: Callable[[Path, Path], list[object]]
    old: tuple[str, ...] = ()


def _track(logs: Path) -> tuple[object, ...]:
    return ("--track", logs / "track.geojson")


CASES = [
    # Of the short logs a debrief has nothing to note.
    Case("debrief", lambda i, o: ["debrief", i / "friday_test.csv"]),
    Case(
        "report", lambda i, o: [
            "report", i / "friday.csv", *_track(i), *OFF, "--out", o / "r.html", "--pdf",
            o / "r.pdf", "--tables", o / "tables",
        ], ("out/r.html", "out/r.pdf"),
    ),
    Case(
        "captions", lambda i, o: [
            "captions", i / "friday.csv", *_track(i), *OFF, "--line-at", "3:00", "--out",
            o / "c.vtt", "--out", o / "c.srt",
        ], ("out/c.vtt", "out/c.srt"),
    ),
    Case(
        "track --save", lambda i, o: [
            "track", i / "friday.csv", *_track(i), *OFF, "--tracks", o / "library", "--save",
            "--name-corner", "1=Hatch", "--map", o / "m.svg",
        ], ("out/m.svg",),
    ),
    Case(
        "track --out", lambda i, o: [
            "track", i / "friday.csv", *_track(i), *OFF, "--out", o / "t.geojson",
        ],
    ),
    Case(
        "weekend --report", lambda i, o: [
            "weekend", i, "--out", o / "results", *_track(i), *OFF, "--workers", 1, "--report",
            "--season", o / "season",
        ],
    ),
    Case(
        "weekend, 2 workers", lambda i, o: [
            "weekend", i, "--out", o / "results", *OFF, "--workers", 2,
        ],
    ),
    Case("weekend --init", lambda i, o: ["weekend", i, "--init"], ("in/weekend.toml",)),
    Case(
        "align", lambda i, o: ["align", i / "friday.csv", i / "friday.csv", "--out", o / "a.csv"],
    ),
]  # fmt: skip


@dataclass
class Found:
    """What came of the kills of one command."""

    kills: int = 0
    too_late: int = 0
    old: int = 0
    new: int = 0
    parts: int = 0
    most_parts: int = 0
    wrong: list[str] = field(default_factory=list)

    def line(self, name: str, took_s: float) -> str:
        said = (
            f"{name}: {self.kills} kills within {took_s:.1f} s ({self.too_late} after its end), "
            f"outputs as before {self.old}, as after {self.new}, half-written {len(self.wrong)}; "
            f"hidden parts left at once {self.most_parts}, after the next run {self.parts}"
        )
        return "\n  ".join([said, *self.wrong])


def make_logs(folder: Path) -> None:
    """Two short logs, their circuit and notes that are somebody's."""
    circuit = sim.invented("wren_hollow")
    for seed, name in ((3, "friday.csv"), (8, "saturday.csv")):
        run = sim.drive(circuit, sim.LIGHT_CAR, sim.Driver(), sim.Plan((3,)), seed=seed)
        sim.write_csv(sim.receive(run, replace(sim.ORDINARY, rate_hz=2.0), seed=4), folder / name)
    sim.write_track(circuit, folder / "track.geojson")
    notes = '# mine\n[logs."friday.csv"]\ndriver = "Runa"\n'
    (folder / "weekend.toml").write_text(notes, encoding="utf-8")


def kill_often(case: Case, kills: int, seed: int, work: Path) -> str:
    """Run a command once, kill it often, and say what was found."""
    fresh = work / "fresh"
    make_logs(_empty(fresh / "in"))
    if case.name == "debrief":
        for name in ("friday_test.csv", "wren_hollow.geojson"):
            shutil.copy(ROOT / "sample_sessions" / name, fresh / "in")
    _empty(fresh / "out")
    place = work / "place"
    _start_again(fresh, place, ())
    began_s = time.monotonic()
    done = subprocess.run(_command(case, place), env=_env(work), capture_output=True, check=False)
    took_s = time.monotonic() - began_s
    if done.returncode:
        return f"{case.name}: the whole run failed: {done.stderr.decode()}"
    after = _contents(place)
    moments = random.Random(seed)
    found = Found()
    for _ in range(kills):
        before = _start_again(fresh, place, case.old)
        process = subprocess.Popen(
            _command(case, place), env=_env(work), stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        # Starting takes half the time and writes nothing: most kills go to where it may hurt.
        time.sleep(took_s * moments.triangular(0.1, 1.1, 0.9))
        late = process.poll() is not None
        found.too_late += late
        process.send_signal(signal.SIGKILL)
        process.wait()
        found.kills += 1
        writing = _judge(found, before, after, place)
        # The machine may be busier now than it was, or less.
        took_s *= 0.85 if late else 1.0 if writing else 1.08
    # In the state of the last kill, whatever that left.
    subprocess.run(_command(case, place), env=_env(work), capture_output=True, check=False)
    found.parts = len(list(place.rglob(f"{PART}*")))
    return found.line(case.name, took_s)


def _judge(found: Found, before: dict[str, str], after: dict[str, str], place: Path) -> bool:
    """Hold what is there against before and after; whether it had begun to write."""
    now = _contents(place)
    parts = [name for name in now if Path(name).name.startswith(PART)]
    found.most_parts = max(found.most_parts, len(parts))
    for name, digest in now.items():
        if name in parts or digest == before.get(name):
            found.old += name in before and name in after and before[name] != after[name]
        elif digest == after.get(name):
            found.new += 1
        else:
            found.wrong.append(f"kill {found.kills}: {name} is neither old nor new")
    gone = before.keys() - now.keys()
    found.wrong += [f"kill {found.kills}: {name} is gone" for name in sorted(gone)]
    return now != before


def _command(case: Case, place: Path) -> list[str]:
    arguments = case.arguments(place / "in", place / "out")
    return [sys.executable, "-m", "lapwright", *map(str, arguments)]


def _env(work: Path) -> dict[str, str]:
    return os.environ | {
        "PYTHONPATH": str(ROOT / "src"), "LAPWRIGHT_CACHE": "off", "OPENBLAS_NUM_THREADS": "1",
        "XDG_DATA_HOME": str(work / "data"), "XDG_CONFIG_HOME": str(work / "config"),
    }  # fmt: skip


def _empty(folder: Path) -> Path:
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    return folder


def _start_again(fresh: Path, place: Path, old: tuple[str, ...]) -> dict[str, str]:
    """Put everything back as it was, but for parts of killed runs, and old outputs in place."""
    left = [(one, one.read_bytes()) for one in place.rglob(f"{PART}*") if one.is_file()]
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(fresh, place)
    (place / "out" / "library").mkdir()
    for name in old:
        # Notes are edited and not replaced.
        if not (place / name).exists():
            (place / name).write_bytes(OLD)
    for one, content in left:
        if one.parent.is_dir():
            one.write_bytes(content)
    return {k: v for k, v in _contents(place).items() if not Path(k).name.startswith(PART)}


def _contents(place: Path) -> dict[str, str]:
    return {
        str(one.relative_to(place)): hashlib.sha256(one.read_bytes()).hexdigest()
        for one in sorted(place.rglob("*"))
        if one.is_file()
    }


def main() -> int:
    """Kill what was asked for; 1 where anything was half-written or left behind."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[1] if __doc__ else None)
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("names", nargs="*", help="those whose name begins so; all if none is given")
    asked = parser.parse_args()
    bad = False
    for case in CASES:
        if asked.names and not case.name.startswith(tuple(asked.names)):
            continue
        with tempfile.TemporaryDirectory() as work:
            said = kill_often(case, asked.kills, asked.seed, Path(work))
        bad = bad or "half-written 0;" not in said or not said.endswith("after the next run 0")
        print(said, flush=True)
    return int(bad)


if __name__ == "__main__":
    sys.exit(main())

"""
Search for inputs that break what reads a user's files, guided by what of the code they reach.

    python .ci/fuzz.py --target csv --minutes 30   one reader
    python .ci/fuzz.py --minutes 2                 all of them, the time shared out
    python .ci/fuzz.py --minutes 2 --fresh         from the good files alone, always the same seed

Targets are the readers of logs (csv, gpx, nmea), of track files (track), of weekend notes (notes)
and of column maps (map).  Whatever comes in, each gives a result that holds what it promises or one
clear error, within a second and one a megabyte of CPU and thirty times the file in memory.  What
breaks that is made short and kept in tests/corpus/TARGET, where tests/ingest/test_corpus.py runs it
for ever after.  The inputs that reach new code are kept in .fuzzing/TARGET for the next search.
Needs the extra `fuzz` (pip install -e ".[test,fuzz]").
"""

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ["LAPWRIGHT_CACHE"] = "off"
sys.path[:0] = [str(ROOT / "tests/support"), str(ROOT / "src")]

from damage.seeds import SEEDS  # noqa: E402
from damage.targets import TARGETS  # noqa: E402
from fuzzing.minimise import failure_of, minimised  # noqa: E402

CORPUS = ROOT / "tests/corpus"
# libFuzzer's own name of what it ends itself: an input that never ends, or takes all memory.
_ENDED = ("timeout-", "oom-", "crash-")
# Which of the inputs filled the memory shows when each is read alone.
_FULL = "oom-"
_STATE = re.compile(r"#(\d+)\s+\w+\s.*?cov: (\d+) ft: (\d+) corp: (\d+)/(\S+)")
_LONGEST_BYTES, _HANG_S, _MOST_MB = 24_000, 60, 4_000
_MINIMISE_S = 20.0


@dataclass
class Search:
    """What came of one target: how often it ran, what was reached, what failed."""

    runs: int
    edges: int
    features: int
    kept: int
    failures: dict[str, Path]


def main() -> int:
    """Search one target or all, and say what came of it."""
    parser = argparse.ArgumentParser(description=__doc__.strip().split("\n\n")[0])
    parser.add_argument("--minutes", type=float, default=2.0, help="for all targets together")
    parser.add_argument("--target", choices=TARGETS, help="one of them; else all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--fresh", action="store_true", help="forget what earlier searches kept")
    options = parser.parse_args()
    names = [options.target] if options.target else list(TARGETS)
    seconds = 60.0 * options.minutes / len(names)
    failures = 0
    for name in names:
        found = search(name, seconds, options.seed, options.fresh)
        failures += len(found.failures)
        print(
            f"{name}: {found.runs} executions, {found.edges} edges, {found.features} features, "
            f"{found.kept} inputs in the corpus, {len(found.failures)} failures",
            flush=True,
        )
        for said, file in found.failures.items():
            print(f"  {said}: {file.relative_to(ROOT)}, {file.stat().st_size} bytes")
    verdict = f"{failures} FAILURES" if failures else "no failure"
    print(f"fuzzing of {', '.join(names)}, {options.minutes:g} minutes: {verdict}")
    return 1 if failures else 0


def search(name: str, seconds: float, seed: int, fresh: bool) -> Search:
    """Let libFuzzer search, then make what failed short and keep it."""
    with tempfile.TemporaryDirectory() as temporary:
        work = Path(temporary)
        seeds, kept, broken = work / "seeds", work / "kept", work / "broken"
        if not fresh:
            kept = ROOT / ".fuzzing" / name
        for folder in (seeds, kept, broken):
            folder.mkdir(parents=True, exist_ok=True)
        for number, data in enumerate(SEEDS[name]()):
            (seeds / f"{number}").write_bytes(data)
        for file in sorted((CORPUS / name).glob("*")):
            shutil.copy(file, seeds / file.name)
        output = fuzzed(name, seconds, seed, (kept, seeds, broken))
        states = _STATE.findall(output)
        runs, edges, features, count, _ = states[-1] if states else ("0", "0", "0", "0", "")
        if not states:
            print(output[-3000:])
        return Search(
            int(runs), int(edges), int(features), int(count), _kept_failures(name, broken, work)
        )


def fuzzed(name: str, seconds: float, seed: int, folders: tuple[Path, Path, Path]) -> str:
    """Run the worker, again where libFuzzer ended it before its time; what it said."""
    kept, seeds, broken = folders
    end, said = time.monotonic() + seconds, ""
    while (left := end - time.monotonic()) > 1.0:
        command = [
            sys.executable, "-m", "fuzzing.worker", name, str(broken),
            f"-max_total_time={int(left)}", f"-seed={seed}", f"-max_len={_LONGEST_BYTES}",
            f"-timeout={_HANG_S}", f"-rss_limit_mb={_MOST_MB}", f"-artifact_prefix={broken}/",
            str(kept), str(seeds),
        ]  # fmt: skip
        # With the seed, so that the same inputs come in the same order each time.
        env = {**os.environ, "PYTHONHASHSEED": "0"}
        done = subprocess.run(command, cwd=ROOT / ".ci", capture_output=True, check=False, env=env)
        said += (done.stdout + done.stderr).decode("utf-8", "replace")
        seed += 1
        if not _STATE.search(said):
            break
    return said


def _kept_failures(name: str, broken: Path, work: Path) -> dict[str, Path]:
    """Make each failure short and keep it, once for each signature."""
    target, path = TARGETS[name], work / TARGETS[name].file_name
    out: dict[str, Path] = {}
    for file in sorted(broken.iterdir()):
        data = file.read_bytes()
        if file.name.startswith(_ENDED) and not file.name.startswith(_FULL):
            # It would take as long again to see it fail, and again for each letter left out.
            said, short = f"ended by libFuzzer, {file.name}", data
        else:
            said = failure_of(target, data, path)
            if not said:
                print(f"  {file.name} failed only once, in a process that had run for long")
                continue
            short = minimised(data, lambda d, s=said: failure_of(target, d, path) == s, _MINIMISE_S)
        (CORPUS / name).mkdir(parents=True, exist_ok=True)
        place = CORPUS / name / re.sub(r"[^a-z0-9]+", "-", said.lower()).strip("-")[:80]
        place.write_bytes(short)
        out[said] = place
    return out


if __name__ == "__main__":
    sys.exit(main())

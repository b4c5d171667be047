"""
Damage thousands of good logs heavily and count what comes of them: never anything but a log with
findings or one clear error, soon, and in little memory.

    python .ci/damage.py --logs 10000             read each of them
    python .ci/damage.py --logs 500 --laps        and cut those that can be read into laps
    python .ci/damage.py --only 4711 --keep FILE  one of them again, by its number, kept in a file

The logs are short and drawn by number, so the same number is the same log everywhere; the kinds of
damage are those of the property tests (tests/support/damage/heavy.py).
"""

import argparse
import collections
import os
import sys
import tempfile
import time
import traceback
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path[:0] = [str(ROOT / "tests/support"), str(ROOT / "src")]

from damage.drives import good_logs  # noqa: E402
from damage.heavy import drawn  # noqa: E402
from damage.lapped import laps  # noqa: E402
from damage.promises import outcome, peak_mb  # noqa: E402
from damage.targets import log  # noqa: E402
from fuzzing.signature import signature  # noqa: E402


def main() -> int:
    """Draw, damage, read, count."""
    about = __doc__.strip().split("\n\n")[0]
    parser = argparse.ArgumentParser(description=about)
    parser.add_argument("--logs", type=int, default=1000, help="how many")
    parser.add_argument("--first", type=int, default=0, help="number of the first one")
    parser.add_argument("--laps", action="store_true", help="cut them into laps too")
    parser.add_argument("--only", type=int, help="one number, with the whole error")
    parser.add_argument("--keep", type=Path, help="where to keep the log of --only")
    options = parser.parse_args()
    # A log a second is a quarter of the work and as easy to damage.
    logs = good_logs(3, 1.0)
    with tempfile.TemporaryDirectory() as name:
        if options.only is not None:
            return one_again(options, logs, Path(name))
        return many(options, logs, Path(name))


def one_again(options: argparse.Namespace, logs: dict[str, bytes], folder: Path) -> int:
    """Say what becomes of one damaged log, in full."""
    name, data, how = drawn(logs, options.only)
    path = options.keep or folder / "damaged.log"
    path.write_bytes(data)
    print(f"{name}, {how}, {len(data)} bytes")
    print(looked_at(options.laps, path))
    return 0


def looked_at(cut: bool, path: Path) -> str:
    """Read a log, and cut it into laps too: how long that takes is for the benchmark to say."""
    return outcome(laps, path, limits=False) if cut else outcome(log, path)


def many(options: argparse.Namespace, logs: dict[str, bytes], folder: Path) -> int:
    """Count what becomes of many damaged logs."""
    count: collections.Counter[str] = collections.Counter()
    broken: dict[str, list[int]] = collections.defaultdict(list)
    slowest, most = (0.0, -1), (0.0, -1)
    path = folder / "damaged.log"
    for number in range(options.first, options.first + options.logs):
        path.write_bytes(drawn(logs, number)[1])
        start_mb, start_s = peak_mb(forget=True), time.process_time()
        try:
            count[looked_at(options.laps, path)] += 1
        except Exception as error:
            count["failure"] += 1
            if signature(error) not in broken:
                print(f"number {number}: {signature(error)}", flush=True)
                print("".join(traceback.format_exception(error)[-3:]), flush=True)
            broken[signature(error)].append(number)
        slowest = max(slowest, (time.process_time() - start_s, number))
        most = max(most, (peak_mb() - start_mb, number))
    for said, numbers in sorted(broken.items()):
        print(f"{len(numbers)} times {said}: numbers {', '.join(map(str, numbers[:8]))}")
    print(
        f"{options.logs} damaged logs{' cut into laps' if options.laps else ''}: "
        f"{count['good']} gave a result, {count['error']} one clear error, {count['failure']} a "
        f"failure; the slowest took {slowest[0]:.2f} s of CPU (number {slowest[1]}), the largest "
        f"{most[0]:.0f} MB (number {most[1]})"
    )
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())

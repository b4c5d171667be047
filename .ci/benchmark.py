"""
Measure how long commands take, against pandas: whole process against whole process, by CPU time.

    python .ci/benchmark.py --quick --repeats 3 --check      what every change is held against
    python .ci/benchmark.py --write docs/performance.md      all of it, written down
    python .ci/benchmark.py --only growth                    one group

What is compared is `python -c "import pandas; pandas.read_csv(LOG)"` of the same log, taken in
turns with ours; each figure is the median of the repeats.  "First" has nothing kept from before,
"again" is the same command once more.  --write puts what was reached down in
`.ci/benchmarking/reached.json` and in the page of the docs; with --check, whatever is more than a
third worse than that makes the exit status 1.
"""

import argparse
import sys
import tempfile
from pathlib import Path

from benchmarking import measuring
from benchmarking.figures import FIGURES, read_reached, write_reached
from benchmarking.page import shown, written


def arguments() -> argparse.Namespace:
    """Read the command line."""
    names = [group.__name__ for group in (*measuring.QUICK, *measuring.REST)]
    parser = argparse.ArgumentParser(description="Measure how long commands take, against pandas.")
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--quick", action="store_true", help="what CI measures")
    parser.add_argument("--only", nargs="+", choices=names, metavar="GROUP", help=", ".join(names))
    parser.add_argument("--check", action="store_true", help="fail where a limit is passed")
    parser.add_argument("--write", type=Path, metavar="PAGE", help="write down what was reached")
    return parser.parse_args()


def main() -> int:
    """Measure and print."""
    chosen = arguments()
    _, before = read_reached()
    reached = dict(before)
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        bench = measuring.Bench(Path(folder), chosen.repeats)
        for group in measuring.groups(quick=chosen.quick):
            if chosen.only and group.__name__ not in chosen.only:
                continue
            for key, value in group(bench).items():
                failed += not _told(key, value, before.get(key))
                reached[key] = value
        if chosen.write is not None:
            machine = measuring.machine(bench)
            write_reached(machine, reached)
            # As read back, so that the page has what the file has.
            chosen.write.write_text(written(chosen.write, *read_reached()), encoding="utf-8")
    return int(chosen.check and failed > 0)


def _told(key: str, value: float, before: float | None) -> bool:
    """Print a figure; whether it is what --check wants: its limit held, or else its target."""
    figure = FIGURES[key]
    target, said = figure.target, ""
    missed = target is not None and figure.misses(value, target)
    if target is not None:
        said = f"  target {target:g}{': MISSED' if missed else ''}"
    if figure.quick:
        # A target may be some way off; getting slower is never allowed.
        missed = before is None or figure.misses(value, figure.limit(before))
        limit = "none written down" if before is None else shown(figure, figure.limit(before))
        said += f"  limit {limit}{': PASSED' if missed else ''}"
    print(f"{figure.label:78} {shown(figure, value):>22}{said}", flush=True)
    return not missed


if __name__ == "__main__":
    sys.exit(main())

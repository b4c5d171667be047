"""
How much of `src/` the tests run: lines and branches, of all processes together.

    python .ci/covered.py DATA --lines 95 --branches 90

DATA is the beginning of the names of the files that coverage left, one a process.  The last line
says both shares; the exit status is 1 where one is below its limit.  `--rooms` lists the rooms,
the least covered last.
"""

import argparse
import json
import sys
from collections import defaultdict
from pathlib import Path
from tempfile import TemporaryDirectory

import coverage

ROOT = Path(__file__).parent.parent
COUNTS = ("covered_lines", "num_statements", "covered_branches", "num_branches")


def measured(data: Path) -> dict[str, dict[str, int]]:
    """Combine what the processes left, and count for each file of the package."""
    config = str(ROOT / "pyproject.toml")
    whole = coverage.Coverage(data_file=str(data), config_file=config)
    whole.combine([str(one) for one in data.parent.glob(f"{data.name}.*")], keep=True)
    with TemporaryDirectory() as folder:
        file = Path(folder, "coverage.json")
        whole.json_report(outfile=str(file))
        files = json.loads(file.read_text(encoding="utf-8"))["files"]
    return {name: {key: one["summary"][key] for key in COUNTS} for name, one in files.items()}


def shares(counts: list[dict[str, int]]) -> tuple[float, float]:
    """Return the shares of lines and of branches in percent."""
    lines, all_lines, branches, all_branches = (sum(one[key] for one in counts) for key in COUNTS)
    return _percent(lines, all_lines), _percent(branches, all_branches)


def _percent(some: int, of_all: int) -> float:
    return 100.0 * some / of_all if of_all else 100.0


def room_of(name: str) -> str:
    """Return the folder below the package, or the module itself."""
    parts = Path(name).parts
    return parts[len(parts) - 1 - parts[::-1].index("lapwright") + 1]


def main() -> int:
    """Report; the exit status is 1 where too little is run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("--lines", type=float, default=0.0)
    parser.add_argument("--branches", type=float, default=0.0)
    parser.add_argument("--rooms", action="store_true")
    chosen = parser.parse_args()
    found = measured(chosen.data)
    if chosen.rooms:
        rooms = defaultdict(list)
        for name, counts in found.items():
            rooms[room_of(name)].append(counts)
        for room, counts in sorted(rooms.items(), key=lambda item: -shares(item[1])[0]):
            print(
                f"{room:20} lines {shares(counts)[0]:5.1f} %  branches {shares(counts)[1]:5.1f} %"
            )
    lines, branches = shares(list(found.values()))
    limits = f"at least {chosen.lines:g} and {chosen.branches:g} %"
    print(
        f"the tests run {lines:.1f} % of the lines and {branches:.1f} % of the branches ({limits})"
    )
    return 0 if lines >= chosen.lines and branches >= chosen.branches else 1


if __name__ == "__main__":
    sys.exit(main())

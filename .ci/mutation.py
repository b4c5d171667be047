"""
Break the code in one small place at a time and count how often the tests notice.

    python .ci/mutation.py --rooms geometry motion/noise      every mutant of these rooms
    python .ci/mutation.py --rooms laps --sample 60 --seed 1  sixty of each room, drawn at random
    python .ci/mutation.py --changed HEAD~1 --minutes 5       the files changed since a commit

A mutant is killed when a test fails, the program does not end, or the code cannot be imported any
more.  It runs only tests of the room it is in (tests/<room> and the doctests of the room), and of
those only the ones that call the function it is in, the file named after it and the quick ones
first.  `--also tests/session` tries more tests on the survivors.  With --changed, mutants on
changed lines come first, the others of the changed files after them until the time is up; a share
of killed ones whose 95 % interval lies below 85 % is a failure.  Everything happens in a copy of
the tree.  Survivors are printed, and written to a file with --out.
"""

import argparse
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from pathlib import Path

from mutation_testing import one_thread  # noqa: F401 - before numpy
from mutation_testing.mutants import Mutant, mutants_of
from mutation_testing.trials import Recorded, record, trial
from scipy.stats import binomtest

WANTED_SHARE = 0.85
PACKAGE = Path("src/lapwright")
# Holds a number that is made anew with each release, and nothing else.
NOTHING_TO_BREAK = PACKAGE / "_version.py"


def copied_tree(folder: Path) -> Path:
    """A copy of what is in the working tree, without what git ignores."""
    command = ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    for name in subprocess.check_output(command, text=True).split("\0"):
        if name and Path(name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(name, folder / name)
    return folder


def changed_lines(base: str) -> dict[Path, set[int]]:
    """Lines added or changed since a commit, for each file of the package; a mere move has none."""
    command = ["git", "diff", "-M", "--unified=0", "--no-color", base, "--", str(PACKAGE)]
    lines: dict[Path, set[int]] = defaultdict(set)
    file = None
    for row in subprocess.check_output(command, text=True).splitlines():
        if row.startswith("+++ "):
            file = Path(row[6:]) if row.endswith(".py") else None
        elif row.startswith("@@") and file is not None:
            first, _, count = row.split("+")[1].split(" ")[0].partition(",")
            lines[file].update(range(int(first), int(first) + int(count or 1)))
    lines.pop(NOTHING_TO_BREAK, None)
    return {file: found for file, found in lines.items() if found}


def room_of(file: Path) -> str:
    """The room a file is in, `geometry`, or the name of a file that has no room, `plane`."""
    return file.relative_to(PACKAGE).parts[0].removesuffix(".py")


def test_paths(room: str) -> list[str]:
    """Tests that can be expected to kill a mutant of a room: its own, and its doctests."""
    own = f"tests/test_{room.strip('_')}.py"
    wanted = (f"tests/{room}", own, f"{PACKAGE}/{room}", f"{PACKAGE}/{room}.py")
    return [name for name in wanted if Path(name).exists()]


def drawn_mutants(options: argparse.Namespace) -> dict[str, list[Mutant]]:
    """The mutants to try, in order, for each group that is counted by itself."""
    rng = random.Random(options.seed)
    groups: dict[str, list[Mutant]] = defaultdict(list)
    if options.changed:
        changed = changed_lines(options.changed)
        for file in sorted(changed):
            groups[room_of(file)] += mutants_of(file)
        for mutants in groups.values():
            rng.shuffle(mutants)
            mutants.sort(key=lambda one: one.line not in changed[one.file])
        return groups
    for room in options.rooms:
        path = PACKAGE / room
        files = sorted(path.rglob("*.py")) if path.is_dir() else [path.with_suffix(".py")]
        groups[room] = [one for file in files for one in mutants_of(file)]
        if options.sample:
            rng.shuffle(groups[room])
            del groups[room][options.sample :]
    return groups


def try_all(
    mutants: list[Mutant], recorded: Recorded, tree: Path, options: argparse.Namespace, until: float
) -> tuple[int, list[Mutant]]:
    """How many were tried before the time was up, and which of them survived."""
    survivors: list[Mutant] = []
    more = record(tree, options.also, until) if options.also else None
    for k, mutant in enumerate(mutants):
        if time.monotonic() > until:
            return k, survivors
        killed_by = trial(mutant, recorded, tree, until)
        if killed_by is None and more is not None:
            killed_by = trial(mutant, more, tree, until)
        if killed_by == "":
            return k, survivors
        if options.verbose:
            print(f"{killed_by or 'SURVIVED'}: {mutant}", file=sys.stderr, flush=True)
        if killed_by is None:
            survivors.append(mutant)
            print(f"survived: {mutant}", flush=True)
    return len(mutants), survivors


def share_killed(name: str, tried: int, survived: int, made: int) -> str:
    """One line with the share and its exact 95 % interval (Clopper and Pearson 1934)."""
    if tried == 0:
        return f"{name}: no mutant tried of {made}"
    killed = tried - survived
    low, high = binomtest(killed, tried).proportion_ci(0.95, method="exact")
    share = f"{100 * killed / tried:.0f} % killed ({100 * low:.0f} to {100 * high:.0f})"
    return f"{name}: {killed} of {tried} mutants tried, {share}; {made} drawn"


def parsed() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__.strip().splitlines()[0])
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--changed", metavar="BASE", help="mutants of files changed since a commit")
    what.add_argument("--rooms", nargs="+", help="mutants of whole rooms: geometry motion/noise")
    parser.add_argument("--sample", type=int, help="draw this many mutants of each room")
    parser.add_argument("--seed", type=int, default=1, help="of the draw and of the order")
    parser.add_argument("--minutes", type=float, help="stop after this long (5 with --changed)")
    parser.add_argument("--also", nargs="+", help="more tests, tried on the survivors")
    parser.add_argument("--out", type=Path, help="write the survivors to this file as well")
    parser.add_argument("--verbose", action="store_true", help="print what killed each mutant")
    options = parser.parse_args()
    if options.minutes is None:
        options.minutes = 5.0 if options.changed else float("inf")
    return options


def main() -> int:
    """Try the mutants and print the share killed; 1 where too few of a change are killed."""
    options = parsed()
    until = time.monotonic() + 60.0 * options.minutes
    groups = drawn_mutants(options)
    lines, all_tried, all_survived = [], 0, []
    with tempfile.TemporaryDirectory() as folder:
        tree = copied_tree(Path(folder))
        # The rooms with the fewest mutants first, so that each gets its turn.
        for name, mutants in sorted(groups.items(), key=lambda item: len(item[1])):
            recorded = record(tree, test_paths(name.split("/")[0]), until)
            tried, survivors = 0, []
            if recorded is not None:
                tried, survivors = try_all(mutants, recorded, tree, options, until)
            lines.append(share_killed(name, tried, len(survivors), len(mutants)))
            print(lines[-1], flush=True)
            all_tried, all_survived = all_tried + tried, all_survived + survivors
    if options.out:
        options.out.write_text("".join(f"{line}\n" for line in [*lines, *all_survived]))
    if not options.changed or not all_tried:
        return 0
    # A handful of mutants says little, and some change nothing: what counts is that the share
    # cannot be as high as wanted.
    killed = binomtest(all_tried - len(all_survived), all_tried).proportion_ci(0.95)
    too_few = bool(killed.high < WANTED_SHARE)
    if too_few:
        print(f"fewer than {100 * WANTED_SHARE:.0f} % of {all_tried} mutants killed: add tests")
    return int(too_few)


if __name__ == "__main__":
    sys.exit(main())

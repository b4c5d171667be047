"""
Damage good logs lightly, and count the laps that keep their times, are set aside, or lie.

    python .ci/lies.py [--sessions 100] [--first 0] [--damage changed_digits] [--kind "car 5 Hz"]

What a lie is: tests/support/damage/lies.py; the kinds of damage: light.py beside it.  ``speeds``
counts laps that keep their time and whose top speed is another, with a finding in their lines.
About half a second a session.
"""

import argparse
import os
import sys
from collections import defaultdict
from contextlib import suppress
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("LAPWRIGHT_CACHE", "off")
sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "support"))

from damage.good_logs import KINDS
from damage.lies import Verdict, judge
from damage.light import DAMAGES


def jobs(
    sessions: int, first: int, damages: list[str], kinds: list[str]
) -> list[tuple[str, str, int]]:
    """Every damage on every kind of log in turn, so that any number of sessions is a fair draw."""
    pairs = [(kinds[(k + d) % len(kinds)], damages[d])
             for k in range(len(kinds)) for d in range(len(damages))]  # fmt: skip
    return [(*pairs[n % len(pairs)], first + n) for n in range(sessions)]


def table(verdicts: dict[str, list[Verdict]]) -> list[str]:
    """The table by kind of damage, with a sum."""
    head = f"{'damage':<20}{'sessions':>9}{'laps':>7}{'in 1 sd':>9}{'in 2 sd':>9}"
    lines = [head + f"{'aside':>7}{'speeds':>8}{'lies':>6}{'refused':>9}"]
    everything = [verdict for some in verdicts.values() for verdict in some]
    for name, some in [*verdicts.items(), ("all", everything)]:
        laps = sum(v.laps for v in some)
        one, two = (sum(getattr(v, f"within_{n}") for v in some) / max(laps, 1)
                    for n in ("one", "two"))  # fmt: skip
        aside, lies = sum(v.aside for v in some), sum(len(v.lies) for v in some)
        refused, speeds = sum(bool(v.refused) for v in some), sum(v.speeds for v in some)
        lines.append(f"{name:<20}{len(some):>9}{laps:>7}{one:>9.1%}{two:>9.1%}"
                     f"{aside:>7}{speeds:>8}{lies:>6}{refused:>9}")  # fmt: skip
    return lines


def main() -> int:
    """Damage, judge and print; 1 where there is a lie."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").strip().splitlines()[0])
    parser.add_argument("--sessions", type=int, default=100)
    parser.add_argument("--first", type=int, default=0, help="seed of the first session")
    parser.add_argument("--damage", choices=list(DAMAGES), help="only this one")
    parser.add_argument("--kind", choices=list(KINDS), help="only this kind of log")
    arguments = parser.parse_args()
    damages = [arguments.damage] if arguments.damage else list(DAMAGES)
    kinds = [arguments.kind] if arguments.kind else list(KINDS)
    verdicts: dict[str, list[Verdict]] = defaultdict(list)
    # Who stops it early has the table of what was done until then.
    with suppress(KeyboardInterrupt):
        for kind, damage, seed in jobs(arguments.sessions, arguments.first, damages, kinds):
            verdict = judge(kind, damage, seed)
            verdicts[damage].append(verdict)
            refused = [f"refused: {verdict.refused}"] if verdict.refused else []
            for lie in (*verdict.lies, *refused):
                print(f'"{kind}" {damage} {seed}: {lie}', flush=True)
    print("\n".join(table(verdicts)))
    return int(any(v.lies for some in verdicts.values() for v in some))


if __name__ == "__main__":
    sys.exit(main())

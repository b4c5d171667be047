"""
Which figures there are, what each may be, and what was reached.

A target is what the program is meant to keep to.  A limit is a third above what was reached when
the figures were last written down: a change that makes something slower is to be noticed at once.
"""

import json
from dataclasses import dataclass
from pathlib import Path

REACHED = Path(__file__).parent / "reached.json"
# Above what was reached; a quarter below it where more is better.
SLACK = 4.0 / 3.0
# Starting Python alone varies by this much, in any unit.
_LEAST = 0.05

TIMES, SECONDS, MEGABYTES = "× pandas", "s", "MB"
RATES_HZ = (1, 5, 10, 25, 100)
LAP_COUNTS = (3, 10, 30, 60)


@dataclass(frozen=True, slots=True)
class Figure:
    """
    One figure.

    Attributes
    ----------
    label : str
        What is measured, in words, for the page.
    target : float or None
        None where there is none.
    unit : str
        ``"× pandas"``: CPU time, as a multiple of what pandas takes to be imported and to read the
        same file.
    quick : bool
        Whether it is measured for every change.
    more_is_better : bool
    """

    label: str
    target: float | None = None
    unit: str = TIMES
    quick: bool = False
    more_is_better: bool = False

    def limit(self, reached: float) -> float:
        """What fails a change, with what was reached."""
        return reached / SLACK if self.more_is_better else max(reached * SLACK, reached + _LEAST)

    def misses(self, value: float, bound: float) -> bool:
        """Whether a value is on the wrong side of a target or limit."""
        return value < bound if self.more_is_better else value > bound


def _first_and_again(
    key: str, label: str, first: float | None, again: float | None, *, quick: bool
) -> dict[str, Figure]:
    return {
        f"{key} first": Figure(f"{label}, first time", first, quick=quick),
        f"{key} again": Figure(f"{label}, again", again, quick=quick),
    }


FIGURES: dict[str, Figure] = {
    **_first_and_again("friday laps", "`laps` of `friday_test.csv`", 3.5, 2.0, quick=True),
    **_first_and_again("friday debrief", "`debrief` of `friday_test.csv`", 4.0, 2.0, quick=True),
    **_first_and_again("friday report", "`report` of `friday_test.csv`", 6.0, 4.0, quick=True),
    **_first_and_again(
        "saturday report", "`report` of `saturday_practice.csv`, with the session before", None,
        None, quick=False,
    ),
    **_first_and_again(
        "hour laps", "`laps` of an hour at 25 Hz (90,000 fixes)", 3.0, 1.6, quick=True
    ),
    "hour memory": Figure("the same, first time: peak memory", unit=MEGABYTES, quick=True),
    "import": Figure("`import lapwright`", 1.3, "× `import pandas`", quick=True),
    "help": Figure("`lapwright --help`", 0.5, "× `import pandas`", quick=True),
    "fixes-10000-25": Figure("`laps` of 10 thousand fixes (25 Hz)"),
    "fixes-100000-100": Figure("`laps` of 100 thousand fixes (100 Hz)"),
    "fixes-1000000-100": Figure("`laps` of a million fixes (100 Hz, 2.8 hours)"),
    "growth": Figure(
        "time per fix of the million, start of the program aside", 1.3, "× of 100 thousand"
    ),
    "million memory": Figure("`laps` of a million fixes: peak memory", 1500.0, MEGABYTES),
    **{
        f"rate-{rate}": Figure(f"`laps` of 20 minutes at {rate} Hz")
        for rate in RATES_HZ
    },
    **{f"laps-{laps}": Figure(f"`report` of {laps} laps at 10 Hz") for laps in LAP_COUNTS},
    "workers": Figure(
        "`weekend` of 12 sessions of 20 minutes at 25 Hz: two processes (wall time)", 1.8,
        "× as quick as one", more_is_better=True,
    ),
    "unchanged": Figure("the same again, nothing changed (wall time)", 1.5, SECONDS),
}  # fmt: skip


def read_reached() -> tuple[str, dict[str, float]]:
    """Return on what machine the figures were last written down, and what they were."""
    if not REACHED.exists():
        return "", {}
    found = json.loads(REACHED.read_text(encoding="utf-8"))
    return found["machine"], found["reached"]


def write_reached(machine: str, reached: dict[str, float]) -> None:
    """Write down what was reached, in the order of the figures."""
    ordered = {key: float(f"{reached[key]:.3g}") for key in FIGURES if key in reached}
    text = json.dumps({"machine": machine, "reached": ordered}, indent=2, ensure_ascii=False)
    REACHED.write_text(f"{text}\n", encoding="utf-8")

"""Logs damaged beyond what any card does: a log with findings or one clear error, never else."""

import tempfile
from pathlib import Path

import pytest
from damage.drives import good_logs, short
from damage.heavy import DAMAGES, damaged_logs, drawn
from damage.lapped import laps
from damage.promises import BrokenPromise, check_clear, outcome
from damage.targets import log
from hypothesis import HealthCheck, given, settings

from lapwright.errors import LogError

SHORT = {name: short(data, 60) for name, data in good_logs().items()}
QUICK = settings(
    max_examples=150,
    deadline=None,
    database=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)


@QUICK
@given(damaged_logs(SHORT))
def test_a_log_or_one_clear_error(damaged: tuple[str, bytes]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "damaged.log"
        path.write_bytes(damaged[1])
        assert outcome(log, path) in ("good", "error")


@pytest.mark.thorough
@settings(QUICK, max_examples=12)
@given(damaged_logs(good_logs()))
def test_laps_or_one_clear_error(damaged: tuple[str, bytes]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "damaged.log"
        path.write_bytes(damaged[1])
        # A lap takes longer than its reading; how long is for the benchmark to say.
        assert outcome(laps, path, limits=False) in ("good", "error")


def test_a_number_draws_the_same_damage_everywhere() -> None:
    assert drawn(SHORT, 7) == drawn(SHORT, 7)
    assert len({drawn(SHORT, number)[1] for number in range(40)}) > 35


def test_every_kind_of_damage_damages() -> None:
    used = {kind for number in range(200) for kind in drawn(SHORT, number)[2].split()}
    assert used == {kind.__name__ for kind in DAMAGES}


@pytest.mark.parametrize("text", ["two\nlines", "", "x" * 3000, "\x1b[2J"])
def test_an_error_that_nobody_can_read_breaks_the_promise(text: str) -> None:
    error = LogError("something", "a.csv")
    error.what, error.path = text, Path()
    error.line, error.hint = None, ""
    error.__class__ = type("Said", (LogError,), {"__str__": lambda self: self.what})
    with pytest.raises(BrokenPromise, match="unclear"):
        check_clear(error)


def test_what_takes_too_long_or_writes_breaks_the_promise(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"a")

    def written(place: Path) -> None:
        place.write_bytes(b"b")

    def large(_: Path) -> None:
        bytearray(150_000_000)[:] = b"x" * 150_000_000

    with pytest.raises(BrokenPromise, match="written"):
        outcome(written, path)
    with pytest.raises(BrokenPromise, match="memory"):
        outcome(large, path)
    with pytest.raises(BrokenPromise, match="hang"):
        outcome(lambda _: [None for _ in iter(int, 1)], path)
    with pytest.raises(ZeroDivisionError):
        outcome(lambda _: 1 // 0, path)

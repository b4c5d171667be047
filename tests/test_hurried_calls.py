"""
Every public call with what a hurried person gives it: a table for a session, a lap as text.

A new public name is taken in by itself: it has to have valid arguments in `hurried_world.VALID`,
and each of them is then replaced by everything that is wrong.
"""

import inspect
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
import pytest
from hurried_world import VALID, Small, make_small
from public_names import PublicName, public_names

import lapwright as lw
from lapwright.errors import LapError

# Made once, in one process.
pytestmark = pytest.mark.xdist_group("hurried_calls")

mpl.use("Agg")


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Small:
    return make_small(tmp_path_factory.mktemp("small"))


@pytest.fixture(autouse=True)
def _own_library(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What is saved where nobody says, or beside whoever runs this, is not found by others."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)


@pytest.fixture(autouse=True)
def _no_figures() -> Iterator[None]:
    yield
    import matplotlib.pyplot as plt

    plt.close("all")


def _arguments(one: PublicName) -> list[str]:
    assert one.function is not None
    kinds = inspect.signature(one.function).parameters.values()
    return [p.name for p in kinds if p.name not in ("self", "cls")]


CALLS = {
    one.name: one
    for one in public_names()
    if one.function is not None and not one.is_property and _arguments(one)
}
# What takes seconds where it is given something that will do.
LONG = {
    "report.write_pdf", "report.write_html", "report.write_tables", "run_weekend",
    "write_weekend_report", "discover_track", "align_logs", "with_channels_of", "open_session",
    "captions.write_captions",
}  # fmt: skip


def _call(one: PublicName, arguments: dict[str, Any]) -> object:
    given = dict(arguments)
    if one.owner is None:
        return one.thing(**given)
    thing = given.pop("self", one.owner)
    call = getattr(thing, one.name.split(".")[1])
    star = [
        p.name for p in inspect.signature(call).parameters.values() if p.kind is p.VAR_POSITIONAL
    ]
    return call(*(given.pop(name) for name in star if name in given), **given)


def _never_right(small: Small) -> dict[str, Any]:
    return {"object": object(), "bytes": b"x", "table": small.session.laps.head(1)}


def _mostly_wrong(small: Small) -> dict[str, Any]:
    return {
        "None": None, "True": True, "number": 2.5, "text": "x", "list": [None], "dict": {"x": None},
        "session": small.session, "log": small.log, "track": small.track,
        "numpy bool": np.bool_(True), "numpy int": np.int64(99), "negative": -1, "nan": np.nan,
        "huge": 10**9, "empty": [], "zero byte": "a\0b", "array": np.zeros(3),
    }  # fmt: skip


def test_every_public_call_has_valid_arguments() -> None:
    assert set(CALLS) == set(VALID)


@pytest.mark.filterwarnings("ignore::UserWarning", "ignore::DeprecationWarning")
@pytest.mark.parametrize("name", list(CALLS))
def test_valid_arguments_are_valid(name: str, small: Small) -> None:
    if name not in LONG or name == "report.write_tables":
        _call(CALLS[name], VALID[name](small))


# Of `show` the result is refused by what it cannot show.
_BY_KIND = r"^{name} is .+; give .+$|^there is nothing to show of an? .+; give "

# The words of numpy and of the interpreter for what went wrong below; and a message is one line.
_DEEP_INSIDE = r"broadcast|subscript|operand|unpack|zip\(|\n"


@pytest.mark.filterwarnings(
    "ignore::UserWarning", "ignore::RuntimeWarning", "ignore::DeprecationWarning"
)
@pytest.mark.parametrize("name", list(CALLS))
def test_what_is_wrong_is_named(name: str, small: Small) -> None:
    one = CALLS[name]
    valid = VALID[name](small)
    wrong = _never_right(small) | ({} if name in LONG else _mostly_wrong(small))
    for argument in _arguments(one):
        for kind, value in wrong.items():
            about = f"{name}({argument}={kind})"
            try:
                _call(one, {**valid, argument: value})
            except TypeError as error:
                if not re.search(_BY_KIND.format(name=argument), str(error)):
                    pytest.fail(f"{about}: {error}")
            except (lw.LapwrightError, ValueError) as error:
                if not str(error) or re.search(_DEEP_INSIDE, str(error)):
                    pytest.fail(f"{about}: {error}")
            except Exception as error:
                pytest.fail(f"{about}: {type(error).__name__}: {error}")
            else:
                # A table, raw bytes or any object is never what is wanted, but for tables.
                assert kind not in ("object", "bytes") or name in ("Log.with_findings",), about


@pytest.mark.parametrize("lap", [99, -1, np.int64(99)])
def test_a_lap_that_is_not_there_is_named_with_those_that_are(lap: int, small: Small) -> None:
    session = small.session
    for call in (
        lambda: session.compare(lap, 1),
        lambda: session.compare(1, lap),
        lambda: session.compare(1, lap, other=session),
        lambda: lw.captions.caption_table(session, 5.0, reference=lap),
        lambda: session.causes_between(lap, 1),
        lambda: lw.plots.lap_times(session.laps, best=int(lap)),
    ):
        with pytest.raises(LapError, match=rf"lap {lap}\b"):
            call()


def test_numbers_of_numpy_are_numbers_and_paths_of_any_kind_are_paths(small: Small) -> None:
    class Named:
        def __fspath__(self) -> str:
            return str(small.track_file)

    assert lw.read_track(Named()).name == lw.read_track(str(small.track_file)).name  # type: ignore[arg-type]
    assert small.session.trace(np.int64(1)).lap == 1
    assert small.session.compare(np.int32(2), np.uint8(1), step_m=np.float32(10.0)).lap == 2
    written = lw.report.write_html(small.session, small.out("n.html"), np.int64(1))  # type: ignore[arg-type]
    assert written.stat().st_size > 10_000


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda w: lw.open_session(None), "path is None; give a path"),
        (lambda w: lw.open_session(b"a.csv"), "path is b'a.csv'; give a path"),
        (
            lambda w: lw.open_session("a.csv", repeat_line="off"),
            "repeat_line is 'off'; give True or False",
        ),
        (lambda w: w.session.trace(True), "lap is True; give a whole number"),
        (lambda w: w.session.trace("3"), "lap is '3'; give a whole number"),
        (
            lambda w: w.session.compare(2, other=w.session.laps),
            "other is a DataFrame; give a Session, or leave it out",
        ),
        (lambda w: lw.report.write_html(w.log, "a.html"), "session is a Log; give a Session"),
        (lambda w: lw.plots.delta(w.session), "comparison is a Session; give a Comparison"),
        (
            lambda w: lw.plots.speed(w.session.trace(1)),
            "traces is a LapTrace; give a list, of a LapTrace each",
        ),
        (lambda w: lw.Session(w.session.laps), "log is a DataFrame; give a Log"),
        (
            lambda w: lw.plots.delta(w.comparison, ax=3),
            "ax is 3; give an Axes, or leave it out",
        ),
    ],
)  # fmt: skip
def test_the_sentence(call: Any, said: str, small: Small) -> None:
    with pytest.raises(TypeError) as caught:
        call(small)
    assert str(caught.value).startswith(said)


def test_a_name_with_a_character_that_no_system_takes(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="path holds a character with the number 0"):
        lw.read_log("a\0.csv")

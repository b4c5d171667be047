"""The public face: every name is there, and old names say what they are called now."""

import inspect
from typing import Any

import pytest
from packaging.version import Version
from public_names import PublicName, can_raise, public_names

import lapwright as lw


@pytest.mark.parametrize("name", lw.__all__)
def test_every_public_name_can_be_had(name: str) -> None:
    assert getattr(lw, name) is not None


# What uses a published method says where it is published.
PUBLISHED = {
    "captions.write_captions", "Motion", "Motion.posterior", "Plane", "Plane.to_degrees",
    "Plane.to_metres", "ReferencePath",
    "ReferencePath.at", "Session", "Session.compare", "Session.judgement", "Session.mapped",
    "Session.motion", "Session.noise", "Session.trace", "align_logs", "before_after",
    "complete_track",
    "discover_track", "lap_time_change", "live", "open_session", "plots.lines", "plots.speed",
    "plots.speed_map", "read_track", "what_came_of_it", "write_track",
}  # fmt: skip

# What they are made of was refused already where it is not to be had: nothing is left to refuse.
NEVER_RAISE = {"Gate.reversed", "ReferencePath.reversed"}


def _missing(one: PublicName) -> set[str]:
    """Sections that a public name should have and has not."""
    wanted = {"Examples"}
    if one.function is None:
        fields = _is_error(one) or one.has("Parameters") or one.has("Attributes")
        wanted |= set() if fields else {"Attributes"}
    elif not one.is_property:
        signature = inspect.signature(one.function)
        wanted |= {"Parameters"} if {*signature.parameters} - {"self", "cls"} else set()
        wanted |= {"Returns"} if signature.return_annotation is not None else set()
    refuses = one.name not in NEVER_RAISE and not _is_error(one) and can_raise(one)
    wanted |= {"Raises"} if refuses else set()
    wanted |= {"References"} if one.name in PUBLISHED else set()
    # The examples are run with the tests of `src`, as doctests.
    return {s for s in wanted if not (one.has(s) and (s != "Examples" or ">>> " in one.text))}


def _is_error(one: PublicName) -> bool:
    return inspect.isclass(one.thing) and issubclass(one.thing, Exception)


@pytest.mark.parametrize("one", list(public_names()), ids=lambda one: one.name)
def test_every_public_name_is_described_in_full(one: PublicName) -> None:
    assert _missing(one) == set()


def test_what_uses_a_published_method_is_there() -> None:
    assert {*PUBLISHED} <= {one.name for one in public_names()}


def _refuses(number: int) -> int:
    """Say nothing of what it refuses."""
    if number < 0:
        msg = "less than nothing"
        raise ValueError(msg)
    return number


def _asks(number: int) -> int:
    """Hand on."""
    return _refuses(number)


class _Made:
    """Refuse in the making."""

    def __init__(self, number: int) -> None:
        self.number = _refuses(number)


@pytest.mark.parametrize("thing", [_refuses, _asks, _Made])
def test_a_name_that_says_nothing_is_found(thing: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    # As if it were a name of the package; what it calls counts only there.
    for part in (_refuses, _asks, _Made):
        monkeypatch.setattr(part, "__module__", "lapwright.somewhere")
    is_class = inspect.isclass(thing)
    function, owner = (None, thing) if is_class else (thing, None)
    gone = _missing(PublicName("lap_time_change", thing, function, owner, False))
    about = {"Attributes"} if is_class else {"Parameters", "Returns"}
    assert gone == {"Examples", "Raises", "References"} | about


def test_an_unknown_name_is_refused() -> None:
    with pytest.raises(AttributeError, match="no attribute 'find_track_known'"):
        _ = lw.find_track_known


def test_the_old_name_works_and_says_its_last_version() -> None:
    with pytest.warns(DeprecationWarning, match=r"is now find_known_track; .* version 0\.3"):
        old = lw.recognise
    assert old is lw.find_known_track


def test_what_goes_with_version_0_3_is_gone_by_then() -> None:
    # `lapwright.recognise`, `lapwright.lap_time_change`, the option --road and the key noise.road:
    # take them out, then this.
    assert Version(lw.__version__) < Version("0.3")

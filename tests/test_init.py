"""The public face: every name is there, and old names say what they are called now."""

import inspect

import pytest
from packaging.version import Version

import lapwright as lw


@pytest.mark.parametrize("name", lw.__all__)
def test_every_public_name_can_be_had(name: str) -> None:
    assert getattr(lw, name) is not None


@pytest.mark.parametrize("name", sorted({*lw.__all__} - {"__version__"}))
def test_every_public_name_has_an_example_and_says_what_goes_in_and_out(name: str) -> None:
    # The examples are run with the tests of `src`, as doctests.
    thing = getattr(lw, name)
    text = inspect.getdoc(thing) or ""
    assert ">>> " in text
    if inspect.isfunction(thing):
        assert "Parameters\n---" in text
        assert "Returns\n---" in text or inspect.signature(thing).return_annotation is None
    elif inspect.isclass(thing) and not issubclass(thing, Exception):
        assert "Parameters\n---" in text or "Attributes\n---" in text


def test_an_unknown_name_is_refused() -> None:
    with pytest.raises(AttributeError, match="no attribute 'find_track_known'"):
        _ = lw.find_track_known


def test_the_old_name_works_and_says_its_last_version() -> None:
    with pytest.warns(DeprecationWarning, match=r"is now find_known_track; .* version 0\.3"):
        old = lw.recognise
    assert old is lw.find_known_track


def test_what_goes_with_version_0_3_is_gone_by_then() -> None:
    # `lapwright.recognise`, the option --road and the key noise.road: take them out, then this.
    assert Version(lw.__version__) < Version("0.3")

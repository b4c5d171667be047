"""What a public call is given, held against its signature."""

import doctest
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Literal, Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest

from lapwright import arguments
from lapwright.arguments import check, checked, of_shape, with_columns


class Named(Protocol):
    """Somebody with a name."""

    name: str


class Person:
    def __init__(self) -> None:
        self.name = "Runa"


RIGHT: list[tuple[Any, list[Any]]] = [
    (int, [3, np.int64(3), np.uint8(3)]),
    (float, [3, 2.5, np.float32(2.5), np.int64(3), float("nan")]),
    (bool, [True, np.bool_(False)]),
    (str, ["x", ""]),
    (str | Path, ["x", Path("x")]),
    (int | None, [3, None]),
    (Sequence[int], [[1, 2], (1,), np.array([1]), pd.Series([1]), []]),
    (tuple[float, float], [(1.0, 2), [1.0, 2.0], np.zeros(2)]),
    (Mapping[int, str], [{1: "a"}, {}]),
    (Callable[[int], int], [abs, lambda x: x]),
    (npt.ArrayLike, [1.0, [1, 2], np.zeros(3), pd.Series([1.0]), []]),
    (npt.NDArray[np.float64], [np.zeros(3), [1.0]]),
    (npt.NDArray[np.float64] | None, [np.zeros(3), None]),
    (Literal["left", "right"], ["left", "up"]),
    (Named, [Person()]),
    (Any, [None, 3]),
]
WRONG: list[tuple[Any, list[Any], str]] = [
    (int, [True, np.bool_(True), 2.0, "3", None, [3]], "a whole number"),
    (float, [True, "2.5", None, np.array([1.0])], "a number"),
    (bool, ["off", 1, None], "True or False"),
    (str | Path, [b"x", None, 3], "a path"),
    (str | None, [3], "text, or leave it out"),
    (Sequence[int], [3, "ab", {1: 2}, [1, "2"], np.zeros((2, 2)), pd.DataFrame()], "a list, of"),
    (tuple[float, float], [(1.0,), "ab", (1.0, "2")], "2 values: a number, a number"),
    (Mapping[int, str], [[1], {"a": 1}], "a mapping (dict) from a whole number to text"),
    (Callable[[int], int], [3], "a function"),
    (npt.ArrayLike, ["x", None, [None], {}, [[1], [1, 2]], np.array(["x"])], "numbers"),
    (pd.DataFrame, [{}, None], "a table (DataFrame)"),
    (Named, [3, "x"], "a Named"),
]


@pytest.mark.parametrize(("hint", "values"), RIGHT, ids=[str(row[0]) for row in RIGHT])
def test_what_is_right(hint: Any, values: list[Any]) -> None:
    for value in values:
        check("it", value, hint)


@pytest.mark.parametrize(("hint", "values", "wanted"), WRONG, ids=[str(row[0]) for row in WRONG])
def test_what_is_wrong(hint: Any, values: list[Any], wanted: str) -> None:
    for value in values:
        with pytest.raises(TypeError) as caught:
            check("it", value, hint)
        assert str(caught.value).startswith("it is ")
        assert f"; give {wanted}" in str(caught.value)


@checked
def _of_all_kinds(
    first: int, second: "str | Gone" = "x", *more: int, named: "Sequence[int]" = (),  # type: ignore[name-defined]  # noqa: F821
) -> tuple[object, ...]:  # fmt: skip
    return first, second, more, named


def test_every_way_to_give_an_argument() -> None:
    assert _of_all_kinds(1, "y", 2, 3, named=[4]) == (1, "y", (2, 3), [4])
    # A name that is not there when the program runs is not looked at.
    assert _of_all_kinds(1, 5) == (1, 5, (), ())
    for given, named, said in (
        (("1",), {}, "first is '1'"), ((1, "y", 2, "3"), {}, "more is '3'"),
        ((1,), {"named": 3}, "named is 3; give a list, of a whole number each"),
        ((), {"first": None}, "first is None"),
    ):  # fmt: skip
        with pytest.raises(TypeError, match=said):
            _of_all_kinds(*given, **named)
    # What the interpreter says of a name that there is not stays as it is.
    with pytest.raises(TypeError, match="unexpected keyword argument 'other'"):
        _of_all_kinds(1, other=3)


def test_long_things_are_not_shown_whole() -> None:
    with pytest.raises(TypeError) as caught:
        check("it", "x" * 1000, int)
    assert len(str(caught.value)) < 100


def test_its_examples_are_still_found() -> None:
    # doctest goes by the module whose globals a function has.
    found = doctest.DocTestFinder().find(_of_all_kinds, "x", globs={})
    assert _of_all_kinds.__globals__ is globals()
    assert _of_all_kinds.__name__ == "_of_all_kinds"
    assert found is not None


def test_a_table_and_an_array_of_another_shape() -> None:
    with_columns("laps", pd.DataFrame({"a": [1]}), ["a"])
    with pytest.raises(ValueError, match="laps is another table: it has no column 'b', 'c'"):
        with_columns("laps", pd.DataFrame({"a": [1]}), ["a", "b", "c"])
    assert of_shape("x", [1, 2], (2,)).dtype == np.float64
    with pytest.raises(ValueError, match=r"x has the shape \(2,\); give an array of shape \(3,\)"):
        of_shape("x", [1, 2], (3,))


def test_a_path_that_no_system_takes() -> None:
    with pytest.raises(ValueError, match="it holds a character with the number 0"):
        check("it", "a\0b", str | Path)


def test_the_sentence_names_what_is_public() -> None:
    assert set(arguments._CALLED.values()) == {"Session", "table (DataFrame)"}

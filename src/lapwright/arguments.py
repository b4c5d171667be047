"""
What a public call is given, held against what it says it takes.

Without this a wrong argument is noticed somewhere deep inside, as an error about an attribute that
the caller never heard of, or not at all: ``repeat_line="off"`` is true.  The rule is one for all
calls: an argument of the wrong kind is a `TypeError` that names it and says what to give.  The
kinds are those of the signature, so they are said once.  Whole numbers of numpy are whole numbers,
anything with a file name is a path, but True is not a number and bytes are not a path.
"""

import collections.abc as abc
import inspect
import os
import typing
from functools import update_wrapper
from types import FunctionType, NoneType, UnionType
from typing import Any, TypeVar, cast, get_type_hints

import numpy as np
import pandas as pd

F = TypeVar("F", bound=abc.Callable[..., Any])

# What a class that is part of another is called outside.
_CALLED = {"ComparedDrive": "Session", "RacedDrive": "Session", "DataFrame": "table (DataFrame)"}
_PLAIN = {
    str: "text", bool: "True or False", int: "a whole number", float: "a number", NoneType: "None",
}  # fmt: skip
_LISTS = (abc.Sequence, list, tuple)
_LONGEST = 40
# A longer list is one that a program made: its first items tell.
_ITEMS_SEEN = 100


def checked(function: F) -> F:
    """
    Let a function refuse arguments of another kind than its signature says.

    Parameters
    ----------
    function : callable
        Its annotations are read when it is first called.  One that cannot be read then, such as a
        name that is only imported for types, is not looked at.

    Returns
    -------
    callable
        Raises `TypeError` where an argument is of the wrong kind.

    Examples
    --------
    >>> @checked
    ... def twice(number: int) -> int:
    ...     return 2 * number
    >>> twice("3")
    Traceback (most recent call last):
    TypeError: number is '3'; give a whole number
    """
    check = _Arguments(function)

    def call(*args: Any, **kwargs: Any) -> Any:
        check(args, kwargs)
        return function(*args, **kwargs)

    # With the globals of the function's own module: by these doctest knows whose examples are its.
    own = FunctionType(call.__code__, function.__globals__, closure=call.__closure__)
    return cast("F", update_wrapper(own, function))


def with_columns(name: str, table: pd.DataFrame, columns: abc.Iterable[str]) -> None:
    """
    Refuse a table that is another one than wanted.

    Parameters
    ----------
    name : str
        Of the argument.
    table : DataFrame
    columns : iterable of str
        Those that are needed.

    Raises
    ------
    ValueError
        If one is missing.
    """
    missing = [column for column in columns if column not in table]
    if missing:
        msg = f"{name} is another table: it has no column {', '.join(map(repr, missing))}"
        raise ValueError(msg)


def of_shape(name: str, value: Any, shape: tuple[int, ...]) -> np.ndarray[Any, Any]:
    """
    Return numbers as an array of a shape, or refuse them.

    Parameters
    ----------
    name : str
        Of the argument.
    value : array_like
    shape : tuple of int

    Returns
    -------
    ndarray

    Raises
    ------
    ValueError
        If it has another shape.
    """
    given = np.asarray(value, dtype=np.float64)
    if given.shape != shape:
        msg = f"{name} has the shape {given.shape}; give an array of shape {shape}"
        raise ValueError(msg)
    return given


class Axes(typing.Protocol):
    """What is asked of matplotlib's Axes, which is imported only where something is drawn."""

    figure: object
    xaxis: object
    plot: object


class _Arguments:
    """The arguments of one function: what each of them may be."""

    def __init__(self, function: abc.Callable[..., Any]) -> None:
        self._function = function
        self._by_name: dict[str, Any] | None = None
        self._in_order: list[str] = []
        self._rest = ""

    def __call__(self, args: tuple[Any, ...], kwargs: dict[str, Any]) -> None:
        hints = self._read() if self._by_name is None else self._by_name
        for name, value in zip(self._in_order, args, strict=False):
            if name in hints:
                check(name, value, hints[name])
        if self._rest in hints:
            for value in args[len(self._in_order) :]:
                check(self._rest, value, hints[self._rest])
        for name, value in kwargs.items():
            if name in hints:
                check(name, value, hints[name])

    def _read(self) -> dict[str, Any]:
        parameters = inspect.signature(self._function).parameters.values()
        positional = (inspect.Parameter.POSITIONAL_ONLY, inspect.Parameter.POSITIONAL_OR_KEYWORD)
        self._in_order = [p.name for p in parameters if p.kind in positional]
        self._rest = next((p.name for p in parameters if p.kind is p.VAR_POSITIONAL), "")
        hints = {}
        for one in parameters:
            hint = one.annotation
            if isinstance(hint, str):
                try:
                    hint = _meant(hint, self._function.__globals__)
                except NameError:
                    continue
            if hint is not one.empty:
                hints[one.name] = hint
        self._by_name = hints
        return hints


def _meant(hint: str, known: dict[str, Any]) -> Any:
    """Return the type that an annotation in quotes stands for."""
    holder = type("Holder", (), {"__annotations__": {"it": hint}})
    return get_type_hints(holder, known, {"Axes": Axes})["it"]


def check(name: str, value: object, hint: Any) -> None:
    """
    Refuse a value of another kind than wanted.

    Parameters
    ----------
    name : str
        Of the argument.
    value : object
    hint : type
        What it may be, as in a signature.

    Raises
    ------
    TypeError
        If it is something else.
    ValueError
        If it is a text or path that no system takes.
    """
    if not _is_one(value, hint):
        msg = f"{name} is {_shown(value)}; give {_wanted(hint)}"
        raise TypeError(msg)
    if isinstance(value, str | os.PathLike) and "\0" in os.fspath(value):
        msg = f"{name} holds a character with the number 0; no name of a file may"
        raise ValueError(msg)


def _is_one(value: Any, hint: Any) -> bool:
    origin = typing.get_origin(hint)
    if origin in (typing.Union, UnionType):
        if _takes_arrays(hint):
            return _is_numbers(value) or (value is None and NoneType in typing.get_args(hint))
        return any(_is_one(value, one) for one in typing.get_args(hint))
    if origin is not None:
        return _is_filled(value, origin, typing.get_args(hint))
    if hint is None or hint is NoneType:
        return value is None
    if hint in (int, float):
        kinds = (int, np.integer) if hint is int else (int, float, np.integer, np.floating)
        return isinstance(value, kinds) and not isinstance(value, bool)
    if hint is bool:
        return isinstance(value, bool | np.bool_)
    if hint is Any or not isinstance(hint, type):
        return True
    if issubclass(hint, os.PathLike):
        return isinstance(value, os.PathLike) and isinstance(os.fspath(value), str)
    if getattr(hint, "_is_protocol", False):
        nothing = object()
        return all(
            inspect.getattr_static(value, member, nothing) is not nothing
            for member in _members(hint)
        )
    return isinstance(value, hint)


def _is_filled(value: Any, origin: Any, inside: tuple[Any, ...]) -> bool:
    """Whether a value is a list, a mapping, a function or an array as wanted."""
    if origin is np.ndarray:
        return _is_numbers(value)
    if origin is typing.Literal:
        return isinstance(value, tuple(type(one) for one in inside))
    if origin is abc.Callable:
        return callable(value)
    if origin in (abc.Mapping, dict):
        return isinstance(value, abc.Mapping) and all(
            _is_one(k, inside[0]) and _is_one(v, inside[1]) for k, v in value.items()
        )
    if origin not in _LISTS:
        return isinstance(value, origin)
    if isinstance(value, str | bytes | abc.Mapping) or getattr(value, "ndim", 1) > 1:
        return False
    if not (hasattr(value, "__len__") and hasattr(value, "__iter__")):
        return False
    if origin is tuple and inside[-1] is not Ellipsis:
        return len(value) == len(inside) and all(map(_is_one, value, inside))
    return all(_is_one(one, inside[0]) for one in list(value)[:_ITEMS_SEEN])


def _takes_arrays(hint: Any) -> bool:
    """Whether this is numpy's own list of what can be made an array."""
    return any("numpy._typing" in str(one) for one in typing.get_args(hint))


def _is_numbers(value: Any) -> bool:
    if isinstance(value, np.ndarray):
        return value.dtype.kind in "fiu"
    if isinstance(value, str | bytes | abc.Mapping):
        return False
    try:
        return np.asarray(value).dtype.kind in "fiu"
    except (TypeError, ValueError):
        # Rows of different lengths.
        return False


def _members(protocol: type) -> set[str]:
    named = (vars(one) for one in protocol.__mro__ if getattr(one, "_is_protocol", False))
    found = {m for one in named for m in (*one, *one.get("__annotations__", {})) if m[0] != "_"}
    return found - {*vars(typing.Protocol)}


def _shown(value: object) -> str:
    """Say what was given: a small thing itself, a large one by its kind."""
    if value is None or isinstance(value, bool | int | float | str | bytes):
        text = repr(value)
        return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."
    return _a(type(value).__name__)


def _wanted(hint: Any) -> str:
    names = list(dict.fromkeys(_kinds(hint)))
    if "a path" in names and "text" in names:
        names.remove("text")
    may_be_left_out = "None" in names and len(names) > 1
    said = " or ".join(name for name in names if name != "None" or len(names) == 1)
    return f"{said}, or leave it out" if may_be_left_out else said


def _kinds(hint: Any) -> abc.Iterator[str]:
    origin, inside = typing.get_origin(hint), typing.get_args(hint)
    if origin in (typing.Union, UnionType):
        if _takes_arrays(hint):
            yield from ("numbers", "None") if NoneType in inside else ("numbers",)
            return
        for one in inside:
            yield from _kinds(one)
    elif origin is np.ndarray:
        yield "numbers"
    elif origin is abc.Callable:
        yield "a function"
    elif origin is typing.Literal:
        yield " or ".join(map(repr, inside))
    elif origin in (abc.Mapping, dict):
        yield f"a mapping (dict) from {_wanted(inside[0])} to {_wanted(inside[1])}"
    elif origin is tuple and inside[-1] is not Ellipsis:
        yield f"{len(inside)} values: {', '.join(map(_wanted, inside))}"
    elif origin in _LISTS:
        yield f"a list, of {_wanted(inside[0])} each"
    elif isinstance(hint, type) and issubclass(hint, os.PathLike):
        yield "a path"
    else:
        yield _PLAIN.get(NoneType if hint is None else hint) or _a(_name(hint))


def _name(hint: Any) -> str:
    name = getattr(hint, "__name__", str(hint)).lstrip("_")
    return _CALLED.get(name, name)


def _a(name: str) -> str:
    return f"an {name}" if name[:1].lower() in "aeio" else f"a {name}"

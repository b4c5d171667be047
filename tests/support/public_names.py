"""Every public name with what it is: functions, classes, methods, figures, report writers."""

import ast
import functools
import inspect
import textwrap
from collections.abc import Iterator
from types import FunctionType
from typing import Any, NamedTuple

import lapwright as lw


class PublicName(NamedTuple):
    """A public name; its function is None for a class, whose own is what makes one."""

    name: str
    thing: Any
    function: FunctionType | None
    owner: type | None
    is_property: bool

    @property
    def text(self) -> str:
        return inspect.getdoc(self.function or self.thing) or ""

    def has(self, section: str) -> bool:
        return f"\n{section}\n{'-' * len(section)}\n" in f"\n{self.text}\n"


def public_names() -> Iterator[PublicName]:
    """All that can be reached from `lapwright.__all__`, methods of base classes too."""
    for name in sorted({*lw.__all__} - {"__version__"}):
        thing = getattr(lw, name)
        if inspect.ismodule(thing):
            for inner in thing.__all__:
                yield from _one(f"{name}.{inner}", getattr(thing, inner))
        else:
            yield from _one(name, thing)


def _one(name: str, thing: Any) -> Iterator[PublicName]:
    if not inspect.isclass(thing):
        yield PublicName(name, thing, thing, None, False)
        return
    yield PublicName(name, thing, None, thing, False)
    if issubclass(thing, Exception):
        return
    for member in sorted({m for cls in thing.__mro__ for m in vars(cls) if m[0] != "_"}):
        raw = inspect.getattr_static(thing, member)
        function = (
            getattr(raw, "fget", None)
            or getattr(raw, "func", None)
            or getattr(raw, "__func__", raw)
        )
        if isinstance(function, FunctionType) and function.__module__.startswith("lapwright"):
            is_property = isinstance(raw, property | functools.cached_property)
            yield PublicName(f"{name}.{member}", raw, function, thing, is_property)


def can_raise(one: PublicName) -> bool:
    """Whether its body, or that of a function it calls by name, has a `raise` of its own."""
    bodies = [one.function] if one.function else list(_makers(one.thing))
    return any(
        _raises(function) or any(_raises(f) for f in _callees(function, one.owner))
        for function in bodies
    )


def _tree(function: Any) -> ast.AST:
    return ast.parse(textwrap.dedent(inspect.getsource(function)))


def _raises(function: Any) -> bool:
    return any(isinstance(n, ast.Raise) and n.exc is not None for n in ast.walk(_tree(function)))


def _makers(cls: type) -> Iterator[FunctionType]:
    for name in ("__init__", "__post_init__"):
        function = getattr(cls, name, None)
        # A dataclass's own `__init__` has no source, and raises nothing.
        if isinstance(function, FunctionType) and function.__code__.co_filename != "<string>":
            yield function


def _callees(function: FunctionType, owner: type | None) -> Iterator[FunctionType]:
    for call in ast.walk(_tree(function)):
        if not isinstance(call, ast.Call):
            continue
        called: Any = None
        if isinstance(call.func, ast.Name):
            called = owner if call.func.id == "cls" else function.__globals__.get(call.func.id)
        elif isinstance(call.func, ast.Attribute) and isinstance(call.func.value, ast.Name):
            if call.func.value.id in ("self", "cls") and owner is not None:
                called = getattr(owner, call.func.attr, None)
            elif inspect.isclass(function.__globals__.get(call.func.value.id)):
                called = getattr(function.__globals__[call.func.value.id], call.func.attr, None)
        called = getattr(called, "__func__", called)
        if not getattr(called, "__module__", "").startswith("lapwright"):
            continue
        if inspect.isclass(called):
            yield from _makers(called)
        elif isinstance(called, FunctionType):
            yield called

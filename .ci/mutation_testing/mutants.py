"""
The mutants of a file: the operators are mutmut's, the walk over the file is ours.

mutmut alone leaves out decorated functions and the constants of a module, where this library keeps
its priors.  They are in here.  Of the three ways to change a string only one is taken, and a float
also becomes a fifth of itself: a prior that is one larger is often the same prior.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import libcst as cst
from libcst.metadata import MetadataWrapper, PositionProvider
from mutmut.mutation.mutators import mutation_operators, operator_number, operator_string

Node = cst.CSTNode
# At the top of a file or a class nothing but values is changed: the rest cannot be imported.
VALUES = (cst.BaseNumber, cst.BaseString, cst.BinaryOperation, cst.UnaryOperation, cst.Name)
NEVER_INSIDE = (cst.Annotation, cst.Decorator, cst.Import, cst.ImportFrom, cst.TypeAlias)


@dataclass(frozen=True, eq=False)
class Mutant:
    """One small change of one file."""

    file: Path
    line: int
    function: str
    module: cst.Module
    node: Node
    changed: Node

    def __str__(self) -> str:
        was, now = (
            " ".join(self.module.code_for_node(one).split()) for one in (self.node, self.changed)
        )
        return f"{self.file}:{self.line} {self.function or '(module)'}: {was}  ->  {now}"

    def source(self) -> str:
        """The whole file with the change; made when it is needed, since it takes a while."""
        return self.module.deep_replace(self.node, self.changed).code


class Walk(cst.CSTVisitor):
    """Collect (node, mutated node, line, function) in the order of the file."""

    METADATA_DEPENDENCIES = (PositionProvider,)

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[Node, Node, int, str]] = []
        self.names: list[str] = []
        self.in_function = 0

    def on_visit(self, node: Node) -> bool:
        if isinstance(node, NEVER_INSIDE) or is_docstring(node) or is_type(node):
            return False
        if isinstance(node, cst.FunctionDef | cst.ClassDef):
            self.names.append(node.name.value)
        self.in_function += isinstance(node, cst.FunctionDef)
        if self.in_function or isinstance(node, VALUES):
            line = self.get_metadata(PositionProvider, node).start.line
            function = ".".join(self.names) if self.in_function else ""
            self.found += [(node, changed, line, function) for changed in mutations(node)]
        return True

    def on_leave(self, original_node: Node) -> None:
        if isinstance(original_node, cst.FunctionDef | cst.ClassDef) and self.names:
            self.names.pop()
        self.in_function -= isinstance(original_node, cst.FunctionDef)


def is_docstring(node: Node) -> bool:
    """Whether a statement is nothing but a string."""
    return isinstance(node, cst.Expr) and isinstance(
        node.value, cst.SimpleString | cst.ConcatenatedString
    )


def is_type(node: Node) -> bool:
    """Whether an expression only names a type: `Literal["left", "right"]`."""
    return isinstance(node, cst.Subscript) and (
        isinstance(node.value, cst.Name) and node.value.value in ("Literal", "Callable")
    )


def mutations(node: Node) -> Iterator[Node]:
    """All changes of one node."""
    for kind, operator in mutation_operators:
        if not isinstance(node, kind):
            continue
        changed = list(operator(node))
        yield from changed[:1] if operator is operator_string else changed
        if operator is operator_number and isinstance(node, cst.Float) and node.evaluated_value:
            yield node.with_changes(value=repr(node.evaluated_value / 5.0))


def mutants_of(file: Path) -> list[Mutant]:
    """All mutants of a file."""
    wrapper = MetadataWrapper(cst.parse_module(file.read_text(encoding="utf-8")))
    walk = Walk()
    wrapper.visit(walk)
    return [
        Mutant(file, line, function, wrapper.module, node, changed)
        for node, changed, line, function in walk.found
    ]

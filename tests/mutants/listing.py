"""Every mutant of a module, in the order of its source, and the module compiled with one fault in it."""

from __future__ import annotations

import ast
import importlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType

from tests.mutants.kinds import faults
from tests.mutants.places import Place, places
from tests.services.processes import ROOT

PERMISSION = "training.core.permission"
CALENDAR = "training.core.trade.calendar"


@dataclass(frozen=True, slots=True)
class Mutant:
    """One fault in one module; ``number`` counts them in the order of the source."""

    module: str
    number: int
    line: int
    column: int
    kind: str
    function: str
    before: str
    after: str

    @property
    def name(self) -> str:
        """Where it is and what is wrong with it."""
        return f"{self.module.rpartition('.')[2]}:{self.line}:{self.column}: {self.kind}"

    @property
    def place(self) -> str:
        """The function with its module, such as "training.core.permission.ends:earliest"."""
        return f"{self.module}:{self.function}"

    @property
    def story(self) -> tuple[str, str, str]:
        """The function, what stood there and what stands there now: the same wherever the lines move."""
        return f"{self.module.rpartition('.')[2]}.{self.function}", self.before, self.after


def modules() -> tuple[str, ...]:
    """Every module whose mutants are looked at: all of permission, and the calendar."""
    folder = ROOT / PERMISSION.replace(".", "/")
    return (*(f"{PERMISSION}.{path.stem}" for path in sorted(folder.glob("[!_]*.py"))), CALENDAR)


def source_of(module: str) -> str:
    """The text of a module, as it stands on disk."""
    path = importlib.import_module(module).__file__
    assert path is not None
    return Path(path).read_text(encoding="utf-8")


def functions(module: str) -> dict[str, ast.FunctionDef]:
    """Every function of a module by its name within it: a method as "Class.method", one within another likewise."""
    return dict(_functions(ast.parse(source_of(module)), ""))


def _functions(tree: ast.AST, around: str) -> Iterator[tuple[str, ast.FunctionDef]]:
    for node in ast.iter_child_nodes(tree):
        name = f"{around}.{getattr(node, 'name', '')}".strip(".")
        if isinstance(node, ast.FunctionDef):
            yield name, node
        yield from _functions(node, name if isinstance(node, ast.FunctionDef | ast.ClassDef) else around)


def mutants(module: str, source: str) -> list[Mutant]:
    """Every mutant of a source, always in the same order."""
    return [
        Mutant(
            module=module,
            number=number,
            line=getattr(place.node, "lineno", 0),
            column=getattr(place.node, "col_offset", 0),
            kind=kind,
            function=place.function,
            before=_said(place.node),
            after=_said(other),
        )
        for number, (place, kind, other) in enumerate(_faults(ast.parse(source)))
    ]


def compiled(mutant: Mutant, source: str) -> CodeType:
    """The module with the fault in it; whatever else it holds stays at its line."""
    tree = ast.parse(source)
    for number, (place, _, other) in enumerate(_faults(tree)):
        if number == mutant.number:
            place.put(other)
            return compile(tree, f"{mutant.module}.py", "exec")
    raise LookupError(f"{mutant.name}: the source has changed")


def _faults(tree: ast.Module) -> Iterator[tuple[Place, str, ast.AST]]:
    return ((place, kind, other) for place in places(tree) for kind, other in faults(place))


def _said(node: ast.AST) -> str:
    """The first line of a node, for a report."""
    return ast.unparse(node).splitlines()[0] if not isinstance(node, ast.Pass) else "nothing"

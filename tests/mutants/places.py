"""Where a module's syntax tree may be changed: every node that decides something, and what may stand there instead."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass

NEVER = ("annotation", "returns", "decorator_list", "pattern", "type_params", "format_spec")
"""Fields that say nothing about what is decided."""


@dataclass(frozen=True, slots=True)
class Place:
    """A node, where it hangs in the tree, and the function that it belongs to ("" for the module itself)."""

    node: ast.AST
    parent: ast.AST
    field: str
    position: int | None
    function: str
    gives: str

    def put(self, other: ast.AST) -> None:
        """Hang another node into the tree in place of this one."""
        ast.copy_location(other, self.node)
        if self.position is None:
            setattr(self.parent, self.field, other)
        else:
            getattr(self.parent, self.field)[self.position] = other
        ast.fix_missing_locations(self.parent)


def places(tree: ast.Module) -> Iterator[Place]:
    """Yield every place in the order of the source; docstrings, types, names, decorators and messages are left out."""
    yield from _below(tree, "", "")


def _below(parent: ast.AST, function: str, gives: str) -> Iterator[Place]:
    for field, value in ast.iter_fields(parent):
        if field in NEVER:
            continue
        for position, node in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if isinstance(node, ast.AST) and not _says_only(node):
                yield Place(node, parent, field, position, function, gives)
                yield from _below(node, *_inside(node, function, gives))


def _inside(node: ast.AST, function: str, gives: str) -> tuple[str, str]:
    """The function and its declared answer, for what lies within a node."""
    if isinstance(node, ast.FunctionDef):
        return f"{function}.{node.name}".lstrip("."), ast.unparse(node.returns) if node.returns else ""
    if isinstance(node, ast.ClassDef):
        return f"{function}.{node.name}".lstrip("."), ""
    return (function, "") if isinstance(node, ast.Lambda) else (function, gives)


def _says_only(node: ast.AST) -> bool:
    """Text, a message, an import or a name: nothing in it decides."""
    if isinstance(node, ast.Expr):
        return isinstance(node.value, ast.Constant)
    if isinstance(node, ast.Assign):
        return any(isinstance(target, ast.Name) and target.id == "__all__" for target in node.targets)
    return isinstance(node, ast.Raise | ast.JoinedStr | ast.Import | ast.ImportFrom | ast.alias)

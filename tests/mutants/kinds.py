"""The small faults that a mutant can have: for one node, each other node that could stand there by mistake."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from typing import TypeVar

from tests.mutants.places import Place

Node = TypeVar("Node", bound=ast.AST)
Fault = tuple[str, ast.AST]
"""A kind of fault, and the node that has it."""

COMPARISONS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.BitOr: ast.BitAnd,
    ast.BitAnd: ast.BitOr,
}
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
LEAVES = ast.Return | ast.Continue | ast.Break | ast.Raise | ast.Pass


def faults(place: Place) -> Iterator[Fault]:
    """Yield every fault that may be put in a place, always in the same order."""
    for kind, faulty in _KINDS.items():
        if isinstance(place.node, kind):
            yield from faulty(place)
    if place.field == "test" or (place.field == "ifs" and isinstance(place.parent, ast.comprehension)):
        yield from _condition(place)


def _comparison(place: Place) -> Iterator[Fault]:
    node = _as(ast.Compare, place)
    for n, operator in enumerate(node.ops):
        for other in COMPARISONS[type(operator)]:
            ops = [*node.ops[:n], other(), *node.ops[n + 1 :]]
            kind = f"{type(operator).__name__} to {other.__name__}"
            yield f"{kind} ({n + 1})" if n else kind, ast.Compare(node.left, ops, node.comparators)


def _both(place: Place) -> Iterator[Fault]:
    """The other connective, and each part left out."""
    node = _as(ast.BoolOp, place)
    other: ast.boolop = ast.Or() if isinstance(node.op, ast.And) else ast.And()
    yield f"{type(node.op).__name__} to {type(other).__name__}", ast.BoolOp(other, node.values)
    for n in range(len(node.values)):
        rest = [*node.values[:n], *node.values[n + 1 :]]
        yield f"part {n + 1} left out", rest[0] if len(rest) == 1 else ast.BoolOp(node.op, rest)


def _negation(place: Place) -> Iterator[Fault]:
    node = _as(ast.UnaryOp, place)
    if isinstance(node.op, ast.Not):
        yield "not removed", node.operand
    elif isinstance(node.op, ast.USub):
        yield "minus removed", node.operand


def _constant(place: Place) -> Iterator[Fault]:
    value = _as(ast.Constant, place).value
    if isinstance(value, bool):
        yield f"{value} to {not value}", ast.Constant(not value)
    elif isinstance(value, int | float):
        yield f"{value} to {value + 1}", ast.Constant(value + 1)
        yield f"{value} to {value - 1}", ast.Constant(value - 1)


def _arithmetic(place: Place) -> Iterator[Fault]:
    node = _as(ast.BinOp, place)
    other = OPERATORS.get(type(node.op))
    if other is not None and place.function:
        yield f"{type(node.op).__name__} to {other.__name__}", ast.BinOp(node.left, other(), node.right)


def _step(place: Place) -> Iterator[Fault]:
    node = _as(ast.AugAssign, place)
    other = OPERATORS.get(type(node.op))
    if other is not None:
        yield f"{type(node.op).__name__} to {other.__name__}", ast.AugAssign(node.target, other(), node.value)
    yield "statement left out", ast.Pass()


def _name(place: Place) -> Iterator[Fault]:
    name = _as(ast.Name, place).id
    if name in NAMES:
        yield f"{name} to {NAMES[name]}", ast.Name(NAMES[name], ast.Load())


def _answer(place: Place) -> Iterator[Fault]:
    """A truth value turned round, or nothing where something was found."""
    value = _as(ast.Return, place).value
    if value is None or isinstance(value, ast.Constant):
        return
    if place.gives == "bool":
        yield "answer turned round", ast.Return(ast.UnaryOp(ast.Not(), value))
    elif place.gives.startswith(("tuple", "list", "Findings")):
        empty = ast.List([], ast.Load()) if place.gives.startswith("list") else ast.Tuple([], ast.Load())
        if not (isinstance(value, ast.Tuple | ast.List) and not value.elts):
            yield "answer emptied", ast.Return(empty)
    elif place.gives.endswith("| None"):
        yield "answer withheld", ast.Return(ast.Constant(None))


def _statement(place: Place) -> Iterator[Fault]:
    value = _as(ast.Expr, place).value
    if isinstance(value, ast.Yield | ast.YieldFrom):  # still a generator, which yields nothing here
        yield "statement left out", ast.Expr(ast.YieldFrom(ast.Tuple([], ast.Load())))
    else:
        yield "statement left out", ast.Pass()


def _guard(place: Place) -> Iterator[Fault]:
    node = _as(ast.If, place)
    if not node.orelse:
        kind = "guard left out" if isinstance(node.body[-1], LEAVES) else "if left out"
        yield kind, ast.Pass()


def _jump(place: Place) -> Iterator[Fault]:
    yield ("continue to break", ast.Break()) if isinstance(place.node, ast.Continue) else ("break left out", ast.Pass())


def _condition(place: Place) -> Iterator[Fault]:
    """Taken, not taken, and the other way round; an ``if`` without ``else`` is left out instead of not taken."""
    node = place.node
    assert isinstance(node, ast.expr)
    if not isinstance(place.parent, ast.While):
        yield "condition to True", ast.Constant(True)
    if not (isinstance(place.parent, ast.If) and not place.parent.orelse):
        yield "condition to False", ast.Constant(False)
    if not isinstance(node, ast.UnaryOp | ast.Compare):  # for those, another kind says the same
        yield "not added", ast.UnaryOp(ast.Not(), node)


def _as(kind: type[Node], place: Place) -> Node:
    assert isinstance(place.node, kind)
    return place.node


_KINDS: dict[type[ast.AST], Callable[[Place], Iterator[Fault]]] = {
    ast.Compare: _comparison,
    ast.BoolOp: _both,
    ast.UnaryOp: _negation,
    ast.Constant: _constant,
    ast.BinOp: _arithmetic,
    ast.AugAssign: _step,
    ast.Name: _name,
    ast.Return: _answer,
    ast.Expr: _statement,
    ast.If: _guard,
    ast.Continue: _jump,
    ast.Break: _jump,
}

"""Which functions a decision calls: where a mutant's function is not called, the mutant changes nothing."""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable
from functools import cache
from types import CodeType, FrameType
from typing import TypeVar

from tests.mutants.listing import Mutant, functions, modules

Answer = TypeVar("Answer")


@cache
def _bits() -> dict[str, int]:
    """A bit for each function of all modules."""
    places = [f"{module}:{name}" for module in modules() for name in functions(module)]
    return {place: 1 << n for n, place in enumerate(places)}


@cache
def _cached() -> frozenset[str]:
    """Functions with a cache: their answers serve without a call."""
    every = ((f"{module}:{name}", function) for module in modules() for name, function in functions(module).items())
    return frozenset(
        place for place, function in every if "cache" in "".join(map(ast.unparse, function.decorator_list))
    )


def reached_by(work: Callable[[], Answer]) -> tuple[Answer, int]:
    """What some work comes to, and the functions that it called, a bit for each."""
    called: set[tuple[CodeType, str]] = set()

    def note(frame: FrameType, event: str, _: object) -> None:
        if event == "call":
            called.add((frame.f_code, frame.f_globals.get("__name__", "")))

    sys.setprofile(note)
    try:
        answer = work()
    finally:
        sys.setprofile(None)
    bits = _bits()
    return answer, sum({bits.get(f"{module}:{_named(code)}", 0) for code, module in called})


def may_change(mutant: Mutant, reached: int) -> bool:
    """Whether a mutant lies in a function that was called or has a cache, or in no function at all."""
    bit = _bits().get(mutant.place)
    return bit is None or mutant.place in _cached() or bool(reached & bit)


def _named(code: CodeType) -> str:
    """The function in whose text this code stands: a lambda or a generator belongs to the function around it."""
    return code.co_qualname.replace(".<locals>", "").partition(".<")[0]

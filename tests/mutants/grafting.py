"""Puts a mutated module's code into the functions that everybody already holds, in this process only.

Functions are the same objects afterwards, with other code in them: so a mutant is met wherever its function was
imported, and evidence that was built before stays evidence. Plain figures are replaced wherever they were imported.
"""

from __future__ import annotations

import sys
from datetime import date, datetime, timedelta
from types import CodeType, FunctionType, ModuleType
from typing import Any

PLAIN = (bool, int, float, str, date, datetime, timedelta, frozenset, tuple, type(None))


def graft(module: str, code: CodeType) -> None:
    """Run the mutated module beside the real one, and take over each piece of code and each figure that differs."""
    real = sys.modules[module]
    mutated = ModuleType(module)
    mutated.__file__ = real.__file__
    exec(code, mutated.__dict__)
    for name, new in list(vars(mutated).items()):
        if not name.startswith("__"):
            _take_over(real, name, vars(real).get(name), new)
    forget_what_was_cached()


def _take_over(holder: Any, name: str, old: Any, new: Any) -> None:
    if old is new:
        return
    if isinstance(new, FunctionType) and isinstance(old, FunctionType):
        _take_code(holder, name, old, new)
    elif isinstance(new, type | dict) and type(old) is type(new):
        _take_each(old, new)
    elif isinstance(new, property):
        _take_over(None, name, old.fget, new.fget)
    elif hasattr(new, "__wrapped__"):
        _take_over(None, name, old.__wrapped__, new.__wrapped__)
    elif isinstance(holder, ModuleType) and type(new) in PLAIN and new != old:
        _replace_figure(name, old, new)


def _take_each(old: Any, new: Any) -> None:
    """The members of a class, or the values of a table."""
    before, after = (one if isinstance(one, dict) else vars(one) for one in (old, new))
    for key in [key for key in after if key in before]:
        _take_over(old, key, before[key], after[key])


def _take_code(holder: Any, name: str, old: FunctionType, new: FunctionType) -> None:
    if old.__code__ != new.__code__:
        try:
            old.__code__ = new.__code__
        except ValueError:  # it no longer reaches the same variables outside of it
            setattr(holder, name, new)
    if new.__kwdefaults__ and old.__kwdefaults__:
        changed = {k: v for k, v in new.__kwdefaults__.items() if type(v) in PLAIN and v != old.__kwdefaults__[k]}
        old.__kwdefaults__ = {**old.__kwdefaults__, **changed}
    if new.__defaults__ and old.__defaults__:
        pairs = zip(old.__defaults__, new.__defaults__, strict=True)
        old.__defaults__ = tuple(after if type(after) in PLAIN else before for before, after in pairs)


def _replace_figure(name: str, old: Any, new: Any) -> None:
    for holder in list(sys.modules.values()):
        if getattr(holder, "__name__", "").startswith(("training.", "tests.")) and vars(holder).get(name) is old:
            setattr(holder, name, new)


def forget_what_was_cached() -> None:
    """Empty every cache of the core, so that what it holds is worked out again."""
    for name, module in list(sys.modules.items()):
        if name.startswith("training.core"):
            for value in list(vars(module).values()):
                if hasattr(value, "cache_clear"):
                    value.cache_clear()

"""The listing of mutants: which faults are put where, and what is left alone."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.mutants.equivalent import EQUIVALENT
from tests.mutants.listing import compiled, modules, mutants, source_of

TOY = '''
"""Says 1 + 1."""
__all__ = ["f" * 2]
LIMIT = 3
Pair = int | str


@wrapped(1)
def f(a: int = 1, b: "1 + 1" = None) -> bool:
    """Not even 2."""
    if not a:
        raise ValueError(f"{a + 1} is wrong")
    found = [x for x in (a, b) if x]
    found.append(a)
    while a < LIMIT and b:
        a += 1
    return max(a, b) >= 2


def g(a) -> tuple[int, ...]:
    yield a
    return (a, a - 1)


def h(a) -> int | None:
    return a if a is not None else any(a)
'''


def kinds(function: str) -> Counter[str]:
    return Counter(mutant.kind for mutant in mutants("toy", TOY) if mutant.function == function)


def test_every_kind_of_fault_is_put_into_a_function() -> None:
    assert kinds("f") == Counter(
        {
            "1 to 2": 2,  # the default and the step
            "1 to 0": 2,
            "guard left out": 1,
            "condition to True": 2,  # the guard and the filter; a loop for ever would say nothing
            "condition to False": 2,  # the filter and the loop
            "not removed": 1,
            "not added": 2,
            "statement left out": 2,  # found.append and the step
            "And to Or": 1,
            "part 1 left out": 1,
            "part 2 left out": 1,
            "Lt to LtE": 1,
            "Lt to GtE": 1,
            "Add to Sub": 1,
            "answer turned round": 1,
            "GtE to Gt": 1,
            "GtE to Lt": 1,
            "max to min": 1,
            "2 to 3": 1,
            "2 to 1": 1,
        }
    )


def test_answers_are_emptied_or_withheld_as_their_type_allows() -> None:
    assert {"answer emptied", "statement left out", "Sub to Add"} <= kinds("g").keys()
    assert {"answer withheld", "IsNot to Is", "any to all"} <= kinds("h").keys()


def test_outside_of_functions_only_figures_are_changed() -> None:
    assert kinds("") == Counter({"3 to 4": 1, "3 to 2": 1})


def test_text_types_decorators_and_messages_are_left_alone() -> None:
    assert all(mutant.line not in (2, 3, 5, 8, 10, 12) for mutant in mutants("toy", TOY))


def test_each_mutant_compiles_and_differs_from_the_source() -> None:
    plain = compile(TOY, "toy.py", "exec")
    for mutant in mutants("toy", TOY):
        assert compiled(mutant, TOY).co_consts != plain.co_consts, mutant.name


def test_a_listing_is_the_same_each_time_and_no_name_comes_twice() -> None:
    every = [mutant for module in modules() for mutant in mutants(module, source_of(module))]
    assert len({mutant.name for mutant in every}) == len(every) > 1000
    assert every[:300] == [mutant for module in modules() for mutant in mutants(module, source_of(module))][:300]


def test_a_mutant_of_another_source_is_refused() -> None:
    with pytest.raises(LookupError, match="the source has changed"):
        compiled(mutants("toy", TOY)[-1], "x = 1")


def test_each_mutant_known_to_be_equivalent_is_still_there_and_has_a_reason() -> None:
    stories = {mutant.story for module in modules() for mutant in mutants(module, source_of(module))}
    assert EQUIVALENT.keys() - stories == set()
    assert all(reason.strip() for reason in EQUIVALENT.values())

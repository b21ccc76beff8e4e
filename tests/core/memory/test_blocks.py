"""Large arrays are worked block by block: every number is the one that a call for it alone gives."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.memory.blocks import BLOCK
from training.core.memory.posterior import PersonMoments
from training.core.memory.recall import recall, recall_low

WHO = PersonMoments(ability=0.3, fade=-0.2, var_ability=0.4, var_fade=0.3, cov=-0.1)
SIZES = (1, BLOCK - 1, BLOCK, BLOCK + 1, 3 * BLOCK + 5)


def states(size: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    chance = np.random.default_rng(size)
    return chance.normal(-4, 2, size), chance.uniform(0, 400, size), chance.normal(0, 1.4, size)


@pytest.mark.parametrize("size", SIZES)
def test_the_numbers_on_both_sides_of_each_block_are_those_of_a_call_alone(size):
    ln_holds, days, easiness = states(size)
    together = recall(ln_holds, days, off=easiness), recall_low(ln_holds, days, WHO, easiness=easiness)
    assert together[0].shape == together[1].shape == (size,)
    for place in {0, size - 1, *(edge + step for edge in range(BLOCK, size, BLOCK) for step in (-1, 0))}:
        alone = ln_holds[place], days[place]
        assert together[0][place] == pytest.approx(recall(*alone, off=easiness[place]), rel=1e-13)
        assert together[1][place] == pytest.approx(recall_low(*alone, WHO, easiness=easiness[place]), rel=1e-12)


def test_a_table_of_people_and_questions_gives_what_its_rows_give():
    abilities = np.linspace(-1, 1, 700)[:, None]
    ln_holds, days, _ = states(90)
    table = recall(ln_holds, days, off=abilities, fade=abilities / 4)
    assert table.shape == (700, 90)
    for row in (0, 181, 182, 699):
        own = recall(ln_holds, days, off=abilities[row], fade=abilities[row] / 4)
        assert table[row] == pytest.approx(own, rel=1e-13)


def test_questions_never_seen_change_nothing_for_those_beside_them():
    ln_holds, days, easiness = states(2 * BLOCK)
    some = np.where(np.arange(2 * BLOCK) % 7 == 3, np.nan, ln_holds)
    seen = ~np.isnan(some)
    for ask in (recall_of_all, low_of_all):
        assert np.array_equal(ask(some, days, easiness)[seen], ask(ln_holds, days, easiness)[seen])
        never = ask(some, days, easiness)[~seen]
        assert np.array_equal(never, ask(some[~seen], 5 * days[~seen], easiness[~seen]))


def recall_of_all(ln_holds, days, easiness):
    return recall(ln_holds, days, off=easiness)


def low_of_all(ln_holds, days, easiness):
    return recall_low(ln_holds, days, WHO, easiness=easiness, easiness_var=0.5)


@given(st.lists(st.tuples(st.floats(-5000, 5000), st.floats(0, 11_000)), min_size=1, max_size=20))
def test_holds_beyond_all_bounds_change_nothing_for_those_beside_them(cases):
    ln_holds, days = (np.array(column) for column in zip(*cases, strict=True))
    together = recall(ln_holds, days), recall_low(ln_holds, days, WHO)
    for place, alone in enumerate(cases):
        assert together[0][place] == pytest.approx(recall(*alone), rel=1e-13)
        assert together[1][place] == pytest.approx(recall_low(*alone, WHO), rel=1e-12)
    assert not np.isnan(together).any()


def test_no_question_at_all_gives_no_number():
    assert recall([], []).shape == (0,)
    assert recall_low(np.empty((0, 3)), 1.0, WHO).shape == (0, 3)


def test_what_is_passed_in_is_left_as_it_was():
    ln_holds, days, easiness = states(BLOCK + 3)
    kept = ln_holds.copy(), days.copy(), easiness.copy()
    recall(ln_holds, days, off=easiness)
    recall_low(ln_holds, days, WHO, easiness=easiness, ln_hold_var=easiness**2, easiness_var=days)
    assert all(np.array_equal(now, before) for now, before in zip((ln_holds, days, easiness), kept, strict=True))

"""Filling the seconds: as good as trying every set, never over the room, and more room never buys less."""

from __future__ import annotations

from itertools import compress, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.memory.filling import filled, most_worth

PAIRS = st.tuples(st.floats(1e-6, 50) | st.sampled_from([1.0, 2.0]), st.integers(1, 60) | st.sampled_from([20, 35]))


def arrays(pairs):
    return np.array([worth for worth, _ in pairs]), np.array([length for _, length in pairs], dtype=np.int64)


def best_of_all(pairs, room):
    sets = (list(compress(pairs, taken)) for taken in product([False, True], repeat=len(pairs)))
    return max(sum(worth for worth, _ in some) for some in sets if sum(length for _, length in some) <= room)


@given(st.lists(PAIRS, max_size=9), st.integers(0, 250))
def test_no_set_within_the_room_is_worth_more(pairs, room):
    worth, length = arrays(pairs)
    chosen = filled(worth, length, room)
    assert length[chosen].sum() <= room
    assert len(set(chosen.tolist())) == len(chosen)
    assert worth[chosen].sum() == pytest.approx(best_of_all(pairs, room), abs=1e-6)
    assert most_worth(worth, length, room) >= worth[chosen].sum() - 1e-9


@given(st.lists(PAIRS, max_size=60), st.integers(0, 900), st.integers(0, 300))
def test_more_room_never_buys_less(pairs, room, more):
    worth, length = arrays(pairs)
    smaller, larger = (worth[filled(worth, length, one)].sum() for one in (room, room + more))
    assert larger >= smaller - 1e-6


@pytest.mark.parametrize(("worth", "length"), [([0.0], [3]), ([1.0], [0]), ([-1.0], [3])])
def test_what_is_worth_or_takes_nothing_is_refused(worth, length):
    with pytest.raises(ValueError, match="above 0"):
        filled(np.array(worth), np.array(length), 10)

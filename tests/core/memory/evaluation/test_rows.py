"""A practice file is read whole or refused with the line and what to do."""

from __future__ import annotations

import pytest

from tests.core.memory.evaluation.practice import lines_of
from training.core.memory.evaluation.rows import BadRows, read_trials

GOOD = ("ann", "train", "q1", 1_400_000_000_000, "right", 3.5)


def test_rows_are_put_in_order_of_person_then_instant():
    later, earlier = ("ann", "train", "q1", 2000, "wrong", 1), ("ann", "train", "q2", 1000, "read", -0.0)
    trials = read_trials(lines_of([("bob", "test", "q1", 500, "right", 2), later, earlier]))
    assert trials.person.tolist() == [0, 0, 1]
    assert trials.question.tolist() == [1, 0, 0]
    assert trials.turn.tolist() == [0, 1, 0]
    assert trials.ms.tolist() == [1000, 2000, 500]
    assert trials.days.tolist() == [500 / 86.4e6, 1500 / 86.4e6, 0.0]
    assert (trials.answered.tolist(), trials.right.tolist()) == ([False, True, True], [False, False, True])
    assert (trials.test.tolist(), trials.people, trials.questions) == ([False, False, True], 2, 2)


def test_rows_of_the_same_instant_keep_the_order_of_the_file():
    trials = read_trials(lines_of([("ann", "train", name, 1000, "right", 1) for name in ("q3", "q1", "q2")]))
    assert trials.question.tolist() == [2, 0, 1]


def test_the_columns_may_stand_in_any_order_and_beside_others():
    columns = ("latency_s", "more", "answer", "ms", "question", "split", "person")
    trials = read_trials(lines_of([(3.5, "x", "right", 1000, "q1", "test", "ann")], columns))
    assert (trials.right.tolist(), trials.latency_s.tolist(), trials.test.tolist()) == ([True], [3.5], [True])


@pytest.mark.parametrize(
    ("place", "cell", "said"),
    [
        (0, "", "line 3: no person; fill it in"),
        (2, " ", "line 3: no question; fill it in"),
        (1, "dev", "line 3: split 'dev' is not one of train, test"),
        (4, "maybe", "line 3: answer 'maybe' is not one of right, wrong, read"),
        (3, "12.5", "line 3: ms '12.5' is not a whole number"),
        (3, "-4", "line 3: ms '-4' is not a whole number"),
        (3, "9" * 16, "is not a whole number"),
        (3, "٣", "is not a whole number"),
        (5, "soon", "line 3: latency_s 'soon' is not a number"),
        (5, "nan", "line 3: latency_s 'nan' is not a number"),
    ],
)
def test_a_wrong_cell_is_named_with_its_line(place, cell, said):
    bad = [*GOOD]
    bad[place] = cell
    with pytest.raises(BadRows) as refused:
        read_trials(lines_of([GOOD, bad]))
    assert said in str(refused.value)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ([], "line 1: no column person, split"),
        (["person,split,question,ms,answer"], "line 1: no column latency_s; the header must name"),
        (lines_of([]), "no rows after the header"),
        (lines_of([GOOD[:5]]), "line 2: 5 cells where the header has 6"),
        (lines_of([GOOD, ("ann", "test", *GOOD[2:])]), "person ann is both train and test"),
        (lines_of([("x" * 200_000, *GOOD[1:])]), "line 2: not readable as CSV"),
    ],
)
def test_a_file_that_is_none_is_refused_with_what_to_do(lines, said):
    with pytest.raises(BadRows) as refused:
        read_trials(lines)
    assert said in str(refused.value)

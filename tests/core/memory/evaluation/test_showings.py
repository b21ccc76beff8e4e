"""What came before each row, against looking back row by row."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.evaluation.practice import lines_of, made_up_trials
from training.core.memory.evaluation.protocols import FORWARD, STUDENT, held_out
from training.core.memory.evaluation.rows import BadRows, read_trials
from training.core.memory.evaluation.showings import history_of, showings_of
from training.core.memory.parameters import DEFAULT

HOUR_MS = 3_600_000
ROWS = st.lists(
    st.tuples(st.sampled_from("ab"), st.sampled_from("xyz"), st.integers(0, 60), st.sampled_from(("right", "read"))),
    min_size=1,
    max_size=25,
)


@given(ROWS)
def test_the_row_before_and_the_days_since_are_those_found_by_looking_back(rows):
    trials = read_trials(lines_of((who, "train", what, at * HOUR_MS // 2, how, 1) for who, what, at, how in rows))
    showings = showings_of(trials, DEFAULT)
    history = history_of(showings.before)
    for row in range(len(rows)):
        same = (trials.person[:row] == trials.person[row]) & (trials.question[:row] == trials.question[row])
        earlier = np.flatnonzero(same)[::-1].tolist()
        assert [back for back in history[row].tolist() if back >= 0] == earlier
        assert showings.first[row] == (not earlier)
        if earlier:
            hours = round(24 * (trials.days[row] - trials.days[earlier[0]]), 3)
            assert showings.plain_days[row] == pytest.approx(hours / 24, abs=1e-9)
            assert showings.late[row] == (hours > 12)
            assert showings.interval_days[row] == pytest.approx(_clocked(trials, earlier[0], row), abs=1e-9)


def _clocked(trials, start, end):
    gaps = np.diff(trials.days[start : end + 1])
    return sum(gap if gap > 1 / 24 else DEFAULT.session_clock * gap for gap in gaps.tolist())


@pytest.mark.parametrize("protocol", [STUDENT, FORWARD])
def test_no_answer_is_both_learnt_from_and_scored_and_none_is_left_out(protocol):
    held = held_out(made_up_trials(), protocol)
    assert not np.any(held.train & held.scored)
    assert np.array_equal(held.train | held.scored, held.trials.answered)
    assert np.all(held.late <= held.day)
    assert np.all(held.day <= held.scored)


def test_held_out_people_are_those_that_the_file_says():
    held = held_out(made_up_trials(), STUDENT)
    assert np.array_equal(held.scored, held.trials.answered & held.trials.test)


def test_forward_learns_from_the_first_seven_tenths_of_the_answers():
    held = held_out(made_up_trials(), FORWARD)
    assert held.trials.days[held.train].max() < held.trials.days[held.scored].min()
    assert held.train.sum() / held.trials.answered.sum() == pytest.approx(0.7, abs=0.01)


def test_a_file_without_people_on_one_side_is_refused_with_what_it_lacks():
    rows = [("ann", "train", "q1", at * 48 * HOUR_MS, "right", 1) for at in range(3)]
    with pytest.raises(BadRows, match="no answers to score under 'student'; the file needs more test rows"):
        held_out(read_trials(lines_of(rows)), STUDENT)
    with pytest.raises(BadRows, match="no answers to learn from under 'student'; the file needs more train rows"):
        held_out(read_trials(lines_of((row[0], "test", *row[2:]) for row in rows)), STUDENT)


def test_a_file_without_an_answer_is_refused():
    rows = [("ann", "train", "q1", at * 48 * HOUR_MS, "read", 1) for at in range(3)]
    with pytest.raises(BadRows, match="no answers"):
        held_out(read_trials(lines_of(rows)), FORWARD)

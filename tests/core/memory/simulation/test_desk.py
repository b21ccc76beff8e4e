"""The simulated desk agrees with the product: bounds are the gates', unsafe answers close as records say."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.simulation.small_crew import BANK, FAR, NEAR
from training.core.memory.gates import gate_low
from training.core.memory.simulation.asked import work_of
from training.core.memory.simulation.desk import START, Desk
from training.core.memory.simulation.watching import Watch
from training.core.permission.unsafe import GivenAnswer, TalkThrough, close_unsafe
from training.core.questions.kinds import Consequence, Topic


def test_bounds_are_those_of_the_gates_but_for_rounding():
    rng, desk = np.random.default_rng(3), Desk(BANK, work_of(BANK, [NEAR, FAR]))
    for number in range(120):
        day, place = number / 3, int(rng.integers(len(BANK)))
        desk.take(place, day, right=bool(rng.random() < 0.7), acts=True, seconds=30.0, talk_days=1.0)
    for day in (40.0, 40.5, 47.0, 90.0):
        at, who = START + timedelta(days=day), desk.recall.gate_moments
        gates = [trace.gate if (trace := desk.trace(place)) else None for place in range(len(BANK))]
        by_gate = [gate_low(gate, who, at) for gate in gates]
        assert desk.low(day) == pytest.approx(by_gate, abs=0.00101)
        assert (desk.low(day) + 1e-9 >= by_gate).all()


STEPS = st.lists(
    st.tuples(
        st.sampled_from([0.3, 1.0, 2.0, 6.5, 8.0]), st.booleans(), st.booleans(), st.sampled_from([0.1, 0.7, 3.0])
    ),
    min_size=1,
    max_size=8,
)


@given(STEPS)
def test_while_any_unsafe_answer_is_open_by_the_rule_the_simulated_one_blocks(steps):
    """Stricter in one case: with two openings the simulation waits for the last one's talk-through."""
    watch, answers, talks, day = Watch(), [], [], 0.0
    for number, (gap_days, right, unsafe, talk_days) in enumerate(steps):
        day += gap_days
        opened = len(watch.openings)
        if right:
            watch.right(day)
        else:
            watch.wrong(day, unsafe=unsafe, talk_days=talk_days)
        if len(watch.openings) > opened:
            talks.append(
                TalkThrough(record=100 + number, question="q", happened_at=START + timedelta(days=day + talk_days))
            )
        at = START + timedelta(days=day)
        answers.append(given_answer(number, at, right, unsafe))
        so_far = [talk for talk in talks if talk.happened_at <= at]
        still = [one for one in close_unsafe(answers, so_far) if one.closed_at is None]
        assert watch.is_open(day) or not still


def given_answer(record, at, right, unsafe):
    return GivenAnswer(
        record=record,
        question="q",
        topic=Topic.RESCUE,
        consequence=Consequence.LIFE,
        happened_at=at,
        right=right,
        unsafe=unsafe and not right,
    )


def test_an_unsafe_answer_closes_with_both_and_comes_back_about_a_week_later():
    watch = Watch()
    watch.wrong(10.0, unsafe=True, talk_days=2.0)
    assert watch.right(10.2) == []
    assert watch.right(11.0) == [2.0]
    assert [watch.is_open(day) for day in (11.5, 12.0)] == [True, False]
    assert watch.back_at(11.5) is None
    assert watch.back_at(12.5) == 18.0
    watch.right(18.5)
    assert watch.back_at(19.0) is None


def test_a_held_back_answer_blocks_nothing_unless_the_question_is_watched():
    watch = Watch()
    watch.wrong(1.0, unsafe=False, talk_days=1.0)
    assert not watch.is_open(1.1)
    watch.wrong(2.0, unsafe=True, talk_days=0.1)
    watch.right(3.0)
    watch.wrong(4.0, unsafe=False, talk_days=0.1)
    assert watch.is_open(4.5)

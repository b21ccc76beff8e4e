"""Histories of answers, as Hypothesis draws them: gaps from nothing to 30 years, few questions, all that can vary."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import strategies as st

from training.core.memory.fold import Answered

START = datetime(2026, 3, 2, 6, 30, tzinfo=UTC)
SECOND, DAY = 1, 86_400
GAPS_S = st.one_of(
    st.sampled_from([0, SECOND, 40, 3_600, DAY // 2, DAY // 2 + 1, DAY, 3 * DAY, 30 * DAY, 365 * DAY]),
    st.integers(0, 3 * DAY),
    st.integers(0, 90 * DAY),
)
LONG_GAPS_S = st.one_of(GAPS_S, st.integers(0, 30 * 365 * DAY))
CHANCE_FLOORS = st.sampled_from([0.0, 0.02, 1 / 6, 0.25, 1 / 3, 0.5])


def answered(question="a", days=0.0, right=True, record=0, **more):
    """One answer, ``days`` after the start; chance floor 1/3 unless told."""
    more.setdefault("chance_floor", 1 / 3)
    return Answered(question=question, at=START + timedelta(days=days), right=right, record=record, **more)


@st.composite
def histories(draw, gaps_s=GAPS_S, most=25, questions="abc", at_least=0):
    """Answers in order, with record numbers in the same order; each question keeps its chance floor and easiness."""
    floors = {question: draw(CHANCE_FLOORS) for question in questions}
    easiness = {question: draw(st.floats(-2, 2)) for question in questions}
    step = st.tuples(st.sampled_from(list(questions)), gaps_s, st.booleans(), st.sampled_from([False] * 7 + [True]))
    at, answers = START, []
    for record, (question, gap_s, right, too_fast) in enumerate(draw(st.lists(step, min_size=at_least, max_size=most))):
        at += timedelta(seconds=gap_s)
        answers.append(
            Answered(
                question=question,
                at=at,
                right=right,
                chance_floor=floors[question],
                record=record,
                too_fast=too_fast,
                easiness=easiness[question],
            )
        )
    return answers

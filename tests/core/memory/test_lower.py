"""The law of doubted answers: whichever right ones are doubted, no question stands higher than with or without them."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.histories import LONG_GAPS_S, histories
from training.core.memory.fold import Answered, PersonRecall, fold
from training.core.memory.gates import gate_low
from training.core.memory.lower import lower_of

LATER_DAYS = (0.0, 0.3, 1.0, 7.0, 30.0, 400.0)


def lows(state: PersonRecall, answers: list[Answered], days: float) -> list[float]:
    at = answers[-1].at + timedelta(days=days)
    traces = state.traces
    return [gate_low(traces[one].gate if one in traces else None, state.gate_moments, at) for one in "abc"]


@given(histories(gaps_s=LONG_GAPS_S, at_least=1), st.data())
def test_doubting_right_answers_raises_no_gate_at_any_later_instant(
    answers: list[Answered], data: st.DataObject
) -> None:
    doubted = data.draw(st.sets(st.sampled_from([one.record for one in answers])))
    as_nothing = [replace(one, too_fast=True) if one.right and one.record in doubted else one for one in answers]
    with_them, without = fold(answers), fold(as_nothing)
    lower = lower_of(without, with_them)
    for days in LATER_DAYS:
        lowest = map(min, lows(with_them, answers, days), lows(without, answers, days))
        assert all(low <= least for low, least in zip(lows(lower, answers, days), lowest, strict=True))


@given(histories(at_least=1))
def test_where_nothing_is_doubted_nothing_changes(answers: list[Answered]) -> None:
    state = fold(answers)
    assert lower_of(state, state) == state


@given(histories(questions="ab", at_least=2))
def test_what_one_of_them_does_not_know_proves_nothing(answers: list[Answered]) -> None:
    without = fold([one for one in answers if one.question != "b"])
    assert "b" not in lower_of(without, fold(answers)).traces
    assert "b" not in lower_of(fold(answers), without).traces

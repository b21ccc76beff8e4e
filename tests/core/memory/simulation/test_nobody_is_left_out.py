"""Somebody weak is led on too: what stands below its floor is asked, though one answer would hardly show."""

from __future__ import annotations

from datetime import timedelta

from tests.core.memory.histories import START, answered
from training.core.memory.composer import Candidate, compose
from training.core.memory.fold import fold
from training.core.memory.gates import gate_low

HELD = [f"held {place}" for place in range(20)]
NEW = [f"new {place}" for place in range(4)]
FLOOR = 0.6


def months_of_a_weak_person():
    """Twenty questions, two in three answers wrong at first, then right often enough to hold."""
    rows = [
        answered(one, days=day, right=day >= 60 or (day // 3 + place) % 3 == 0, record=1000 * day + place)
        for place, one in enumerate(HELD)
        for day in range(0, 150, 3)
    ]
    return fold(rows)


def test_a_question_never_answered_is_asked_of_somebody_weak_whose_others_all_hold():
    state, at = months_of_a_weak_person(), START + timedelta(days=151)
    assert state.belief.moments.ability < -0.5
    lows = [gate_low(state.traces[one].gate, state.gate_moments, at) for one in HELD]
    assert min(lows) >= FLOOR
    offered = [
        Candidate(question=one, topic="rescue", consequence="life", trace=state.traces.get(one), floor=FLOOR)
        for one in [*HELD, *NEW]
    ]
    assert set(compose(offered, state.belief, 5, at).questions) & set(NEW)

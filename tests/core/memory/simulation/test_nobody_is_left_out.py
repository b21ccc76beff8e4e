"""Somebody weak is led on too: what stands below its floor is asked, though one answer would hardly show."""

from __future__ import annotations

from datetime import timedelta

from tests.core.memory.histories import START, answered
from training.core.memory.composer import Candidate, compose
from training.core.memory.fold import fold
from training.core.memory.gates import gate_low
from training.core.memory.posterior import observe, prior

FLOOR, DAYS = 0.6, range(0, 181, 6)
HELD = [f"held {place}" for place in range(20)]
NEW = [f"new {place}" for place in range(4)]


def belief_of_somebody_weak():
    """What thirty-two wrong and eight right first answers leave."""
    belief = prior()
    for place in range(40):
        belief = observe(belief, right=place % 5 == 0, chance_floor=1 / 3, ln_hold=None, interval_days=0.0)
    return belief


def test_a_question_never_answered_is_asked_of_somebody_weak_whose_others_all_hold():
    belief, at = belief_of_somebody_weak(), START + timedelta(days=181)
    assert belief.moments.ability < -1.5
    rows = [answered(one, days=day, record=1000 * day + place) for place, one in enumerate(HELD) for day in DAYS]
    traces = fold(rows).traces
    assert min(gate_low(traces[one].gate, belief.gate_moments, at) for one in HELD) >= FLOOR
    offered = [
        Candidate(question=one, topic="rescue", consequence="life", trace=traces.get(one), floor=FLOOR)
        for one in [*HELD, *NEW]
    ]
    assert set(NEW) <= set(compose(offered, belief, 5, at).questions)

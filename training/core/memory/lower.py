"""The lower of two ways to fold the same answers, where some of them are doubted: no question gains by a doubt.

Leaving a right answer out is no safe way to let it count for nothing: the later ones are then weighed as if the
question had been further away, and a model with a spacing effect gives them more. So every part of a gate, and of what
gates read of the person, is the worse of both folds; a band's lower bound falls with each of them (see ``posterior``).
"""

from __future__ import annotations

from dataclasses import replace

from training.core.memory.fold import PersonRecall, Trace
from training.core.memory.gates import Gate
from training.core.memory.posterior import Belief, worse_of


def lower_of(one: PersonRecall, other: PersonRecall) -> PersonRecall:
    """The questions of ``one``, each as low as either fold leaves it; what one of them does not know proves nothing."""
    traces = {key: _lower(trace, other.traces[key]) for key, trace in one.traces.items() if key in other.traces}
    own, doubted = one.belief, other.belief
    belief = Belief(own.log_weights, own.moments, worse_of(own.gate_moments, doubted.gate_moments))
    return PersonRecall(traces, belief, one.folded_to)


def _lower(one: Trace, other: Trace) -> Trace:
    return replace(
        one,
        ln_hold=min(one.ln_hold, other.ln_hold),
        ln_hold_var=max(one.ln_hold_var, other.ln_hold_var),
        gate=_lower_gate(one.gate, other.gate),
        last_right=one.last_right and other.last_right,
    )


def _lower_gate(one: Gate, other: Gate) -> Gate:
    for gate in (one, other):
        if gate.ln_hold is None or gate.last_at is None:
            return gate
    return _worse_parts(one, other)


def _worse_parts(one: Gate, other: Gate) -> Gate:
    assert one.ln_hold is not None
    assert other.ln_hold is not None
    assert one.last_at is not None
    assert other.last_at is not None
    return replace(
        one,
        ln_hold=min(one.ln_hold, other.ln_hold),
        ln_hold_var=max(one.ln_hold_var, other.ln_hold_var),
        last_at=min(one.last_at, other.last_at),
        wrong_running=max(one.wrong_running, other.wrong_running),
        clean=one.clean and other.clean,
    )

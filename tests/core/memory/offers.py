"""Questions offered to the composer with what a person remembers of them, as Hypothesis or a seed draws them."""

from __future__ import annotations

from datetime import timedelta
from random import Random

from hypothesis import strategies as st

from tests.core.memory.histories import START, answered
from training.core.memory.composer import Candidate
from training.core.memory.fold import fold
from training.core.memory.honesty import After

TOPICS = ("isolation", "rescue", "lifting")
CONSEQUENCES = ("life", "injury", "damage")
AT = START + timedelta(days=60)


def remembered(chance, number):
    """What somebody remembers of so many questions: none to six answers each over sixty days, some of them wrong."""
    answers = []
    for place in range(number):
        for _n in range(chance.choice([0, 1, 2, 3, 4, 6])):
            days = chance.choice([chance.uniform(0, 60), chance.uniform(50, 60), 59.9])
            answers.append(answered(f"q{place:02}", days=days, right=chance.random() < 0.75, record=len(answers)))
    return fold(answers)


def drawn(seed, number, *, seconds=(20.0, 35.0, 41.7, 60.0), returning=True):
    """An offer of so many questions, and the belief about the person it is made to."""
    chance = Random(seed)
    state = remembered(chance, number)
    return [_one(chance, state, place, seconds, returning) for place in range(number)], state.belief


def _one(chance, state, place, seconds, returning):
    trace = state.traces.get(f"q{place:02}")
    after = chance.choice([None, None, None, *After]) if returning and trace else None
    return Candidate(
        question=f"q{place:02}",
        topic=chance.choice(TOPICS),
        consequence=chance.choice(CONSEQUENCES),
        trace=trace,
        floor=chance.choice([0.0, 0.4, 0.6, 0.6]),
        rank=chance.randrange(3),
        seconds=chance.choice([*seconds, chance.uniform(8, 90)]),
        chance_floor=chance.choice([0.02, 1 / 15, 1 / 3]),
        after=after,
        back_at=AT + timedelta(days=chance.choice([-3, -0.1, 0, 2])) if after else None,
    )


OFFERS = st.builds(drawn, st.integers(0, 10**9), st.integers(0, 25))

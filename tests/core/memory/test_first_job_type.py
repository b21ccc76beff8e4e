"""Somebody new, five minutes a shift: led to their nearest job type in about four weeks, without being flooded.

Their memory is not ours: a power law of the days since the last answer, (1 + t) ** -d, whose d halves with each time
that something was truly recalled (a power law as Wickelgren's, from memory; its figures are assumed). Six in ten
questions are known at the start, one in three guesses is right.
"""

from __future__ import annotations

from datetime import timedelta
from random import Random
from statistics import median

import pytest

from tests.core.memory.histories import START, answered
from training.core.memory.composer import NEW_AT_LEAST, Candidate, compose
from training.core.memory.fold import PersonRecall, after_answer
from training.core.memory.gates import gate_low
from training.core.memory.honesty import NEXT_SESSION_DAYS, After

SHIFT_DAYS = (0, 1, 3, 4)
FLOOR, SLIP, KNOWN, GUESSED = 0.6, 0.02, 0.6, 1 / 3
FADES, HALVES = 0.4, 0.5
NEAR, FAR = 22, 40
"""Life questions of the two topics that the lowest job type asks, and questions of the next one."""
PEOPLE = 12


class Newcomer:
    def __init__(self, seed):
        self.chance = Random(f"newcomer {seed}")
        self.rank = {f"{'near' if n < NEAR else 'other'} {n}": int(n >= NEAR) for n in range(NEAR + FAR)}
        self.recalled = {one: int(self.chance.random() < KNOWN) - 1 for one in self.rank}
        self.recall, self.records, self.drills = PersonRecall(), 0, []

    def true_chance(self, question, at):
        """-1: not known when first asked; else how often it was truly recalled."""
        trace = self.recall.traces.get(question)
        if trace is None:
            return float(self.recalled[question] == 0)
        days = (at - trace.last_at) / timedelta(days=1)
        return (1 + days) ** -(FADES * HALVES ** max(self.recalled[question], 0))

    def answer(self, question, at):
        knows = self.chance.random() < self.true_chance(question, at)
        right = self.chance.random() >= SLIP if knows else self.chance.random() < GUESSED
        self.recalled[question] = max(self.recalled[question], 0) + (knows and right)
        days = (at - START) / timedelta(days=1)
        self.recall = after_answer(self.recall, answered(question, days=days, right=right, record=self.records))
        self.records += 1

    def candidate(self, question):
        trace, topics = self.recall.traces.get(question), ("rescue", "work area", "isolation", "lifting")
        wrong = trace is not None and not trace.last_right
        return Candidate(
            question=question,
            topic=topics[self.rank[question] * 2 + len(question) % 2],
            consequence="life",
            trace=trace,
            floor=FLOOR,
            rank=self.rank[question],
            chance_floor=GUESSED,
            after=After.HELD_BACK if wrong else None,
            back_at=trace.last_at + timedelta(days=NEXT_SESSION_DAYS) if wrong else None,
        )

    def shift(self, at):
        """Drill five minutes; returns how many of the nearest job type's questions stand at their floor then."""
        seen = set(self.recall.traces)
        drill = compose(map(self.candidate, self.rank), self.recall.belief, 5, at).questions
        self.drills.append((drill, sum(one not in seen for one in drill)))
        for place, question in enumerate(drill):
            self.answer(question, at + timedelta(seconds=35 * place))
        then, traces = at + timedelta(minutes=6), self.recall.traces
        gates = [traces[one].gate if one in traces else None for one, rank in self.rank.items() if rank == 0]
        return sum(gate_low(gate, self.recall.gate_moments, then) >= FLOOR for gate in gates)

    def day_of_first_job_type(self, weeks=9):
        for day in range(7 * weeks):
            if day % 7 in SHIFT_DAYS and self.shift(START + timedelta(days=day)) == NEAR:
                return day + 1
        return 7 * weeks


@pytest.fixture(scope="module")
def newcomers():
    people = [Newcomer(seed) for seed in range(PEOPLE)]
    return [(one, one.day_of_first_job_type()) for one in people]


def test_the_first_job_type_is_reached_in_about_four_weeks_of_five_minutes_a_shift(newcomers):
    days = sorted(day for _one, day in newcomers)
    print(f"\ndays to the first job type, {PEOPLE} newcomers: {days}, median {median(days)}")
    assert median(days) <= 31
    assert days[-1] <= 49


def test_the_nearest_job_type_comes_first(newcomers):
    for one, _day in newcomers:
        first_week = [question for drill, _new in one.drills[:4] for question in drill]
        assert all(one.rank[question] == 0 for question in first_week)


def test_nobody_is_flooded_with_new_questions(newcomers):
    for one, _day in newcomers:
        assert all(new <= 5 and len(drill) <= 8 for drill, new in one.drills)
        assert one.drills[0][1] >= NEW_AT_LEAST

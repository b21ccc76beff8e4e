"""Answers of an invented group, drawn from this model with easiness and parameters of its own."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from random import Random

from training.core.memory.fold import Answered, after_answer, nothing_answered
from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.steps import days_between, recall_now

START = datetime(2026, 1, 5, 7, tzinfo=UTC)
GAPS_DAYS = (1, 2, 4, 7, 12, 20)


def group_answers(
    seed: int,
    *,
    people: int = 10,
    questions: int = 20,
    sd_easiness: float = 1.2,
    parameters: Parameters = DEFAULT,
    chance_floor: float = 1 / 3,
) -> tuple[dict[str, list[Answered]], dict[str, float]]:
    """Everybody's answers in order, and the true easiness of each question. Ability has sd .85, fade sd .6."""
    chance = Random(seed)
    easiness = {f"q{n:02}": chance.gauss(0.0, sd_easiness) for n in range(questions)}
    return {f"p{n:02}": _answers(chance, easiness, parameters, chance_floor) for n in range(people)}, easiness


def _answers(chance: Random, easiness: dict[str, float], parameters: Parameters, chance_floor: float) -> list[Answered]:
    ability, fade, plan = chance.gauss(0.0, 0.85), chance.gauss(0.0, 0.6), []
    for question in easiness:
        day = chance.uniform(0.0, 10.0)
        for gap in GAPS_DAYS:
            day += gap * chance.uniform(0.6, 1.6)
            plan.append((START + timedelta(days=day), question))
    state, answers = nothing_answered(parameters), []
    for number, (at, question) in enumerate(sorted(plan), 1):
        trace = state.traces.get(question)
        since = days_between(trace.last_at, at) if trace else 0.0
        off = ability + easiness[question]
        recalled = recall_now(trace.ln_hold if trace else None, since, off, fade, parameters)
        right = chance.random() < chance_floor + (1.0 - chance_floor - parameters.slip) * recalled
        one = Answered(
            question=question, at=at, right=right, chance_floor=chance_floor, record=number, easiness=easiness[question]
        )
        state = after_answer(state, one, parameters)
        answers.append(Answered(question=question, at=at, right=right, chance_floor=chance_floor, record=number))
    return answers

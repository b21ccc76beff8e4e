"""The model over all trials at once says what the product says answer by answer, and easiness is fitted right."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from tests.core.memory.evaluation.practice import lines_of, made_up_rows, made_up_trials
from training.core.memory.evaluation.effects import Effects, answers_of, fit_effects, sigma
from training.core.memory.evaluation.odds_power import fit_easiness, predict
from training.core.memory.evaluation.protocols import STUDENT, held_out
from training.core.memory.evaluation.rows import read_trials
from training.core.memory.fold import Answered, after_answer, nothing_answered
from training.core.memory.parameters import DEFAULT
from training.core.memory.posterior import moments
from training.core.memory.recall import recall_mean

NO_SLIP = replace(DEFAULT, slip=0.0)
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def made_up_effects(held, seed=3):
    chance = np.random.default_rng(seed)
    size = held.trials.questions
    return Effects(
        np.zeros(held.trials.people), chance.normal(0, 1, size), np.zeros(0), chance.uniform(0.05, 0.5, size)
    )


def test_predictions_are_those_of_the_product_answer_by_answer():
    # an hour and more between answers, so that the session clock counts plain days
    spread = [(*row[:3], 1_400_000_000_000 + place * 3_700_000, *row[4:]) for place, row in enumerate(made_up_rows(6))]
    held = held_out(read_trials(lines_of(row for row in spread if row[4] != "read")), STUDENT)
    effects, trials = made_up_effects(held), held.trials
    predicted = predict(held, effects)
    states = {number: nothing_answered(NO_SLIP) for number in range(trials.people)}
    for row, (person, question) in enumerate(zip(trials.person.tolist(), trials.question.tolist(), strict=True)):
        state, name = states[person], str(question)
        trace = state.traces.get(name)
        at = EPOCH + timedelta(milliseconds=int(trials.ms[row]))
        expected = recall_mean(
            np.nan if trace is None else trace.ln_hold,
            0.0 if trace is None else (at - trace.last_at) / timedelta(days=1),
            moments(state.belief),
            easiness=effects.easiness[question],
            easiness_var=effects.easiness_var[question],
            parameters=NO_SLIP,
        )
        assert predicted.chance[row] == pytest.approx(expected, abs=0.02)
        if trace is not None:
            assert predicted.ln_hold[row] == pytest.approx(trace.ln_hold, abs=1e-6)
        answered = Answered(
            question=name,
            at=at,
            right=bool(trials.right[row]),
            chance_floor=0.0,
            record=row,
            easiness=float(effects.easiness[question]),
            easiness_var=float(effects.easiness_var[question]),
        )
        states[person] = after_answer(state, answered, NO_SLIP)


def test_a_prediction_does_not_know_its_own_answer_nor_any_later_one():
    held = held_out(made_up_trials(), STUDENT)
    effects = made_up_effects(held)
    for row in (0, 30, 77, 400):
        own = held.trials.person == held.trials.person[row]
        later = own & (held.trials.turn >= held.trials.turn[row])
        turned = replace(held, trials=replace(held.trials, right=held.trials.right ^ (later & held.trials.answered)))
        assert predict(turned, effects).chance[row] == predict(held, effects).chance[row]


def test_reading_alone_starts_a_hold_and_counts_for_nothing_else():
    rows = [("ann", "train", "q1", 0, "right", 1), ("bob", "test", "q1", 0, "read", 1)]
    late = [(who, split, "q1", 2 * 86_400_000, "right", 1) for who, split, *_ in rows]
    held = held_out(read_trials(lines_of(rows + late)), STUDENT)
    predicted = predict(held, made_up_effects(held))
    assert predicted.ln_hold.tolist()[1::2] == pytest.approx([DEFAULT.first_right, DEFAULT.first_read])
    assert predicted.chance[1] > predicted.chance[3]


def test_easiness_stands_where_the_penalised_likelihood_is_flat():
    held = held_out(made_up_trials(60), STUDENT)
    answers = answers_of(held.trials, held.train)
    offset = np.linspace(-1, 1, len(answers.right))
    effects = fit_effects(answers, offset)
    short = answers.right - sigma(effects.logits(answers) + offset)
    by_question = np.bincount(answers.question, short, answers.questions) - effects.easiness / DEFAULT.sd_easiness**2
    by_person = np.bincount(answers.person, short, answers.people) - effects.shift / DEFAULT.sd_ability**2
    assert np.abs(np.concatenate([by_question, by_person])).max() < 1e-6


def test_easiness_comes_from_train_people_alone_and_is_surer_with_more_answers():
    held = held_out(made_up_trials(60), STUDENT)
    turned = replace(held, trials=replace(held.trials, right=held.trials.right ^ held.scored))
    assert np.array_equal(fit_easiness(turned).easiness, fit_easiness(held).easiness)
    fewer = held_out(made_up_trials(15), STUDENT)
    assert fit_easiness(held).easiness_var.mean() < fit_easiness(fewer).easiness_var.mean() < DEFAULT.sd_easiness**2

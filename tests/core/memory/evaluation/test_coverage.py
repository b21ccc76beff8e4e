"""The forecast of a number right: whom it is made for, and that it holds where people are as the model says."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np

from tests.core.memory.evaluation.practice import DAY_MS, lines_of
from training.core.memory.evaluation.coverage import ANSWERS_AHEAD, coverage, rows_ahead
from training.core.memory.evaluation.effects import Effects
from training.core.memory.evaluation.protocols import STUDENT, held_out
from training.core.memory.evaluation.rows import read_trials
from training.core.memory.parameters import DEFAULT
from training.core.memory.steps import Shown, first_hold, recall_now, sigma

NO_SLIP = replace(DEFAULT, slip=0.0)
QUESTIONS = 24


def people_as_the_model_says(people: int, seed: int, down: float = 0.0):
    """Return the rows of people who answer each question once and, two days later, again; ``down`` is lost since."""
    chance, rows = random.Random(seed), []
    for number in range(people):
        ability, fade = chance.gauss(0, NO_SLIP.sd_ability), chance.gauss(0, NO_SLIP.sd_fade)
        split, holds = ("train" if number == 0 else "test"), {}
        for day in (0, 2):
            for place in range(QUESTIONS):
                hold = holds.get(place)
                recalled = (
                    sigma(ability) if hold is None else recall_now(hold.ln_hold, 2.0, ability - down, fade, NO_SLIP)
                )
                right = chance.random() < recalled
                holds[place] = first_hold(Shown(right=right, chance_floor=0.0), NO_SLIP)
                at = day * DAY_MS + place * 1000
                rows.append((f"n{number:03}", split, f"q{place:02}", at, "right" if right else "wrong", 1))
    return held_out(read_trials(lines_of(rows)), STUDENT)


def known_questions(held) -> Effects:
    nothing = np.zeros(held.trials.questions)
    return Effects(np.zeros(held.trials.people), nothing, np.zeros(0), nothing)


def test_people_as_the_model_says_seldom_fall_under_the_bound():
    held = people_as_the_model_says(240, seed=4)
    found = coverage(held, known_questions(held), seed=1)
    assert found.people == 239
    assert found.below <= 0.08
    assert found.above <= 0.08
    assert abs(found.bias) < 1.0


def test_people_who_forgot_more_than_the_model_says_fall_under_it():
    held = people_as_the_model_says(60, seed=4, down=3.0)
    assert coverage(held, known_questions(held), seed=1).below > 0.3


def test_the_same_seed_gives_the_same_coverage():
    held = people_as_the_model_says(30, seed=4)
    assert coverage(held, known_questions(held), 7) == coverage(held, known_questions(held), 7)


def test_forecasts_are_made_for_held_out_people_with_a_gap_and_enough_answers_after_it():
    def answers(who, split, count, gap_days):
        days = [0, *[gap_days] * count]
        return [(who, split, f"q{at}", round(day * DAY_MS) + 9 * at, "right", 1) for at, day in enumerate(days)]

    rows = [
        *answers("enough", "test", ANSWERS_AHEAD, 0.6),
        *answers("too few", "test", ANSWERS_AHEAD - 1, 0.6),
        *answers("no gap", "test", ANSWERS_AHEAD, 0.4),
        *answers("learnt from", "train", ANSWERS_AHEAD, 0.6),
        ("enough", "test", "q0", 5 * DAY_MS // 5, "right", 1),
    ]
    held = held_out(read_trials(lines_of(rows)), STUDENT)
    ahead = rows_ahead(held)
    assert [set(held.trials.person[one].tolist()) for one in ahead] == [{0}]
    assert len(ahead[0]) == ANSWERS_AHEAD
    assert held.trials.turn[ahead[0][0]] == 1


def test_nobody_with_a_gap_gives_no_share():
    held = people_as_the_model_says(3, seed=1)
    early = replace(held, early=np.ones_like(held.early))
    found = coverage(early, known_questions(held), seed=1)
    assert found.people == 0
    assert math.isnan(found.below)

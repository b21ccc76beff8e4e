"""Refitting: what it recovers of an invented group, that it predicts unseen answers better, and where it stops."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.group_answers import START, group_answers
from training.core.memory.fitting import (
    FADE_REACH,
    FEWEST_OF_A_QUESTION,
    LEVEL_REACH,
    Fitted,
    Trial,
    counted,
    fit_easiness,
    instant_of_share,
    refit,
    replay,
    try_refit,
)
from training.core.memory.fold import Answered, fold
from training.core.memory.gates import gate_low
from training.core.memory.parameters import DEFAULT
from training.core.memory.posterior import moments
from training.core.memory.recall import chance_right, recall_mean
from training.core.memory.steps import days_between

SHIPPED = Fitted(parameters=DEFAULT, easiness={})


def test_easiness_is_recovered_through_the_chance_floor() -> None:
    people, truth = group_answers(3, people=20, questions=20)
    fitted = fit_easiness(replay(people, SHIPPED), DEFAULT)
    found = np.array([fitted[question][0] for question in truth])
    sds = np.array([fitted[question][1] for question in truth])
    wanted = np.array(list(truth.values()))
    assert np.corrcoef(found, wanted)[0, 1] > 0.85
    # within 2.5 of its own standard deviation, for all but what chance allows
    assert np.mean(np.abs(found - wanted) < 2.5 * sds) >= 0.9
    assert np.all((sds > 0.0) & (sds < DEFAULT.sd_easiness))


def test_a_question_with_few_answers_keeps_the_easiness_of_one_never_answered() -> None:
    people, _ = group_answers(4, people=FEWEST_OF_A_QUESTION - 1, questions=3)
    first_only = {
        key: answers[:1] + [one for one in answers if one.question == "q01"] for key, answers in people.items()
    }
    fitted = fit_easiness(replay(first_only, SHIPPED), DEFAULT)
    assert set(fitted) == {"q01"}


def test_a_replay_predicts_each_answer_from_the_same_persons_earlier_ones_only() -> None:
    people, _ = group_answers(5, people=2, questions=4)
    whole = replay(people, SHIPPED)
    answers = people["p00"]
    for known in (1, 7, len(answers) - 1):
        before, one = fold(answers[:known]), answers[known]
        trace = before.traces.get(one.question)
        likely = recall_mean(
            trace.ln_hold if trace else np.nan,
            days_between(trace.last_at, one.at) if trace else 0.0,
            moments(before.belief),
            ln_hold_var=trace.ln_hold_var if trace else 0.0,
            easiness_var=DEFAULT.sd_easiness**2,
        )
        own = np.flatnonzero(whole.person == 0)[known]
        assert whole.chance[own] == pytest.approx(float(chance_right(likely, one.chance_floor)), abs=1e-12)


def test_only_answers_at_day_scale_count_and_none_too_fast() -> None:
    def answer(hours: float, too_fast: bool = False) -> Answered:
        at = START + timedelta(hours=hours)
        return Answered(question="q", at=at, right=True, chance_floor=0.25, record=int(hours * 10), too_fast=too_fast)

    answers = [answer(0), answer(1), answer(11), answer(30), answer(50, too_fast=True), answer(60), answer(90)]
    assert counted({"p": answers}) == 3  # the first, and those after 30 and 90 hours
    assert len(replay({"p": answers}, SHIPPED).right) == 3


def test_a_refit_of_answers_drawn_with_the_shipped_parameters_leaves_them() -> None:
    people, _ = group_answers(3, people=20, questions=20)
    assert refit(people, SHIPPED).parameters == DEFAULT


@pytest.mark.parametrize(("level", "fade"), [(-0.8, 1.0), (1.35, 1.18)])
def test_a_refit_finds_the_direction_of_another_level_and_fade(level: float, fade: float) -> None:
    truth = replace(DEFAULT, b=DEFAULT.b + level, fade=DEFAULT.fade * fade)
    people, _ = group_answers(3, people=20, questions=20, parameters=truth)
    found = refit(people, SHIPPED).parameters
    assert (found.b - DEFAULT.b) * level > 0.0
    assert fade == 1.0 or found.fade > DEFAULT.fade
    assert abs(found.b - DEFAULT.b) <= LEVEL_REACH
    assert FADE_REACH[0] <= found.fade <= FADE_REACH[1]


def test_a_trial_fits_on_earlier_answers_and_is_better_on_later_ones() -> None:
    people, _ = group_answers(3, people=20, questions=20, parameters=replace(DEFAULT, b=DEFAULT.b - 0.8))
    cut = instant_of_share(people, 0.8)
    trial = try_refit(people, SHIPPED, cut)
    assert trial.answers == counted(people)
    assert trial.held_out == sum(one.at >= cut for answers in people.values() for one in answers)
    assert trial.loss_after < trial.loss_before - 0.003
    assert trial.is_better(0.003)


@pytest.mark.parametrize(
    ("gain", "gain_sd", "better"), [(0.01, 0.004, True), (0.01, 0.02, False), (0.002, 0.001, False), (-0.01, 0, False)]
)
def test_a_refit_is_better_only_beyond_the_margin_and_beyond_chance(gain: float, gain_sd: float, better: bool) -> None:
    trial = Trial(answers=2000, held_out=400, loss_before=0.4, loss_after=0.4 - gain, gain_sd=gain_sd)
    assert trial.is_better(0.003) is better


def test_a_trial_learns_nothing_from_what_is_held_out() -> None:
    """Turning every held-out answer round changes its own score, and nothing of what the refit says beforehand."""
    people, _ = group_answers(7, people=6, questions=8)
    cut = instant_of_share(people, 0.8)
    turned = {
        key: [replace(one, right=not one.right) if one.at >= cut else one for one in answers]
        for key, answers in people.items()
    }
    early = {key: [one for one in answers if one.at < cut] for key, answers in people.items()}
    turned_early = {key: [one for one in answers if one.at < cut] for key, answers in turned.items()}
    assert refit(early, SHIPPED) == refit(turned_early, SHIPPED)
    assert try_refit(turned, SHIPPED, cut).loss_after > try_refit(people, SHIPPED, cut).loss_after


@pytest.mark.parametrize("days", [-1, 10_000])
def test_a_trial_without_answers_on_both_sides_is_refused(days: int) -> None:
    people, _ = group_answers(8, people=2, questions=2)
    with pytest.raises(ValueError, match="both sides"):
        try_refit(people, SHIPPED, START + timedelta(days=days))


def test_there_is_no_instant_of_no_answers() -> None:
    with pytest.raises(ValueError, match="no answers"):
        instant_of_share({"p": []}, 0.8)


def test_the_order_of_people_changes_nothing() -> None:
    people, _ = group_answers(9, people=5, questions=6)
    turned = dict(reversed(people.items()))
    one, other = (fit_easiness(replay(group, SHIPPED), DEFAULT) for group in (people, turned))
    assert one == {question: pytest.approx(values, abs=1e-9) for question, values in other.items()}


@given(
    level=st.floats(-LEVEL_REACH, LEVEL_REACH),
    fade=st.floats(*FADE_REACH),
    days=st.lists(st.floats(0.6, 40.0), min_size=1, max_size=6),
    right=st.lists(st.booleans(), min_size=7, max_size=7),
)
def test_within_its_reach_no_set_breaks_the_laws_of_gates(
    level: float, fade: float, days: list[float], right: list[bool]
) -> None:
    """Recall low never rises with time, and one more wrong answer at the end raises it at no later instant."""
    parameters = replace(DEFAULT, number=2, b=DEFAULT.b + level, fade=fade)
    at, answers = START, []
    for number, (gap, sound) in enumerate(zip([0.0, *days], right, strict=False), 1):
        at += timedelta(days=gap)
        answers.append(Answered(question="q", at=at, right=sound, chance_floor=1 / 3, record=number))
    wrong = Answered(question="q", at=at + timedelta(days=1), right=False, chance_floor=1 / 3, record=99)
    before, after = fold(answers, parameters), fold([*answers, wrong], parameters)
    later = [wrong.at + timedelta(days=ahead) for ahead in (0, 1, 5, 30, 365)]
    lows, with_wrong = (
        [gate_low(state.traces["q"].gate, state.gate_moments, one, parameters) for one in later]
        for state in (before, after)
    )
    assert lows == sorted(lows, reverse=True)
    assert all(less <= more for less, more in zip(with_wrong, lows, strict=True))

"""What a shift drill asks: never longer than its minutes, returns first, what matters most among the rest."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.histories import DAY, LONG_GAPS_S, START, answered, histories
from tests.core.memory.offers import AT, OFFERS, drawn
from training.core.memory.composer import Candidate, compose
from training.core.memory.fold import fold
from training.core.memory.gates import is_first_of_session
from training.core.memory.honesty import After
from training.core.memory.posterior import prior

MINUTES = st.one_of(st.integers(0, 15), st.floats(0, 12))
WELL, FADING, LAPSED = (0, 1, 4, 12, 30, 58), (0, 1, 3, 8, 20, 51), (0, 1)


def seen(question, days=LAPSED, topic="isolation", consequence="life", *, right=True, floor=0.6, **more):
    """A question answered right on these days, the last time right or wrong."""
    answers = [answered(question, days=day, right=right or day != days[-1], record=day) for day in days]
    trace = fold(answers).traces[question]
    return Candidate(question=question, topic=topic, consequence=consequence, trace=trace, floor=floor, **more)


def new(question, topic="isolation", consequence="life", **more):
    return Candidate(**{"question": question, "topic": topic, "consequence": consequence, "floor": 0.6, **more})


def asked(offered, minutes, at=AT):
    return compose(offered, prior(), minutes, at).questions


@given(OFFERS, MINUTES)
def test_a_drill_is_never_longer_than_its_minutes_and_asks_nothing_twice(offer, minutes):
    offered, belief = offer
    chosen = compose(offered, belief, minutes, AT).questions
    seconds = {one.question: one.seconds for one in offered}
    assert sum(seconds[one] for one in chosen) <= minutes * 60 + 1e-6
    assert len(set(chosen)) == len(chosen)


@given(OFFERS, MINUTES, MINUTES)
def test_more_minutes_never_buy_less(offer, one, other):
    offered, belief = offer
    fewer, more = (compose(offered, belief, minutes, AT).bought for minutes in sorted((one, other)))
    assert more >= fewer - 1e-6


@given(OFFERS, MINUTES, st.randoms(use_true_random=False))
def test_the_order_in_which_candidates_come_changes_nothing(offer, minutes, chance):
    offered, belief = offer
    shuffled = list(offered)
    chance.shuffle(shuffled)
    assert compose(shuffled, belief, minutes, AT) == compose(offered, belief, minutes, AT)


@given(st.lists(st.integers(0, 10**6), min_size=2, max_size=4), st.randoms(use_true_random=False))
def test_the_order_in_which_people_come_changes_nothing(seeds, chance):
    crew = {seed: drawn(seed, 12) for seed in seeds}
    shuffled = list(crew)
    chance.shuffle(shuffled)
    drills = {seed: compose(*crew[seed], 5, AT) for seed in crew}
    assert {seed: compose(*crew[seed], 5, AT) for seed in shuffled} == drills


def shifted(one, by):
    trace = one.trace and replace(
        one.trace,
        last_at=one.trace.last_at + by,
        last_counted_at=one.trace.last_counted_at and one.trace.last_counted_at + by,
        gate=replace(
            one.trace.gate,
            **{
                name: getattr(one.trace.gate, name) and getattr(one.trace.gate, name) + by
                for name in ("last_at", "last_seen_at", "last_wrong_at")
            },
        ),
    )
    return replace(one, trace=trace, back_at=one.back_at and one.back_at + by)


@given(OFFERS, MINUTES, st.timedeltas(timedelta(days=-3000), timedelta(days=3000)))
def test_shifting_all_instants_changes_nothing(offer, minutes, by):
    offered, belief = offer
    assert compose([shifted(one, by) for one in offered], belief, minutes, AT + by) == compose(
        offered, belief, minutes, AT
    )


@given(OFFERS)
def test_unsafe_returns_whose_day_has_come_stand_first_and_others_wait(offer):
    offered, belief = offer
    chosen = compose(offered, belief, 100, AT).questions
    fresh = {one.question for one in offered if one.trace is None or is_first_of_session(one.trace.last_at, AT)}
    unsafe = {one.question: one.back_at <= AT for one in offered if one.after is After.UNSAFE}
    come = {question for question, has_come in unsafe.items() if has_come and question in fresh}
    assert set(chosen[: len(come)]) == come
    assert not {question for question, has_come in unsafe.items() if not has_come and question in fresh} & set(chosen)


@given(OFFERS, MINUTES)
def test_what_was_seen_within_half_a_day_comes_only_when_wrong_and_at_the_very_end(offer, minutes):
    offered, belief = offer
    by_id = {one.question: one for one in offered}
    again = [
        by_id[one].trace is not None and not is_first_of_session(by_id[one].trace.last_at, AT)
        for one in compose(offered, belief, minutes, AT).questions
    ]
    assert again == sorted(again)
    chosen = compose(offered, belief, minutes, AT).questions
    assert not any(by_id[one].trace.last_right for one, late in zip(chosen, again, strict=True) if late)


@given(st.integers(0, 10**9), st.integers(1, 8))
def test_when_minutes_are_plenty_every_held_back_answer_comes_back_next_day(seed, number):
    offered, belief = drawn(seed, number)
    chosen = compose(offered, belief, 60, AT).questions
    for one in offered:
        if one.after is After.HELD_BACK and one.back_at <= AT and is_first_of_session(one.trace.last_at, AT):
            assert one.question in chosen


def test_a_held_back_answer_comes_back_before_all_but_unsafe_ones():
    held = seen("held", (0, 58), right=False, consequence="damage", after=After.HELD_BACK, back_at=AT)
    unsafe = seen("unsafe", (0, 58), right=False, consequence="damage", after=After.UNSAFE, back_at=AT)
    rest = [seen(f"life{n}", LAPSED) for n in range(5)]
    assert asked([held, *rest], 0.6) == ("held",)
    assert asked([held, unsafe, *rest], 0.6) == ("unsafe",)


def test_life_comes_before_injury_before_damage_and_the_nearest_job_type_first():
    offered = [
        seen("damage", topic="a", consequence="damage"),
        seen("injury", topic="b", consequence="injury"),
        seen("far", topic="c", rank=1),
        seen("near", topic="d"),
    ]
    assert asked(offered, 0.6) == ("near",)
    assert asked([one for one in offered if one.question != "near"], 0.6) == ("far",)
    assert asked(offered[:2], 0.6) == ("injury",)


def test_what_is_about_to_lapse_comes_before_what_has_lapsed_and_before_what_holds():
    offered = [seen("holds", WELL), seen("lapsed", LAPSED), seen("lapsing", FADING)]
    assert asked(offered, 5)[0] == "lapsing"
    assert set(asked(offered, 1.2)) == {"lapsing", "lapsed"}


def test_a_careful_answer_whose_day_has_come_is_asked_before_a_sound_one_like_it():
    careful = seen("x careful", WELL, after=After.CAREFUL, back_at=AT)
    assert asked([seen("a sound", WELL), careful], 0.6) == ("x careful",)
    assert asked([seen("a sound", WELL), replace(careful, back_at=AT + timedelta(days=1))], 0.6) == ("a sound",)


def test_new_questions_come_in_small_portions_nearest_job_type_first():
    offered = [*(new(f"a far {n}", rank=1) for n in range(9)), *(new(f"near {n}") for n in range(4))]
    chosen = asked(offered, 5)
    assert len(chosen) == 5
    assert {one for one in chosen if one.startswith("near")} == {f"near {n}" for n in range(4)}
    assert len(asked(offered, 2)) == 3


def test_a_job_type_that_is_reached_no_longer_comes_first():
    """Its life question holds, so a lapsed one of the next job type outweighs its injury question."""
    reached = [seen("life", WELL), seen("injury", consequence="injury")]
    assert asked([*reached, seen("next", rank=1)], 0.6) == ("next",)
    short = [seen("life", LAPSED), seen("injury", consequence="injury")]
    assert asked([*short, seen("next", rank=1)], 1.2) == ("life", "injury")


def test_the_weakest_life_question_is_taken_in():
    """Two of three life questions hold for long; a far weaker third is asked before a shorter one that buys more."""
    weakest = seen("weakest", (0,), seconds=60)
    quick = [seen(f"quick {n}", (0, 1, 2, 6), "rescue", "injury", seconds=29) for n in range(2)]
    assert "weakest" in asked([weakest, *quick, seen("holds", WELL)], 1)


def test_minutes_to_spare_are_used_on_what_holds_already():
    assert asked([seen("holds", WELL), seen("lapsed", LAPSED)], 5) == ("lapsed", "holds")


def test_topics_are_interleaved():
    offered = [seen(f"i{n}") for n in range(4)] + [seen(f"r{n}", topic="rescue") for n in range(4)]
    chosen = asked(offered, 10)
    assert all(earlier[0] != later[0] for earlier, later in zip(chosen, chosen[1:], strict=False))


def test_nothing_to_ask_and_no_minutes_give_an_empty_drill():
    assert compose([], prior(), 5, AT).questions == ()
    assert compose([new("a")], prior(), 0, AT).questions == ()


@pytest.mark.parametrize(
    "wrong",
    [{"consequence": "fatal"}, {"seconds": 0.0}, {"seconds": float("nan")}, {"floor": 1.1}, {"chance_floor": 1.0}],
)
def test_a_candidate_that_makes_no_sense_is_refused(wrong):
    with pytest.raises(ValueError, match="of q"):
        Candidate(**{"question": "q", "topic": "rescue", "consequence": "life", **wrong})


def test_a_question_offered_twice_and_minutes_below_nothing_are_refused():
    with pytest.raises(ValueError, match="once"):
        compose([new("a"), new("a")], prior(), 5, START)
    for minutes in (-1, float("nan")):
        with pytest.raises(ValueError, match="minutes"):
            compose([], prior(), minutes, START)


@given(histories(gaps_s=LONG_GAPS_S, most=40), st.integers(-DAY, 30 * 365 * DAY), MINUTES)
def test_any_history_at_any_instant_gives_a_drill_with_a_finite_worth(answers, later_s, minutes):
    state = fold(answers)
    at = (answers[-1].at if answers else AT) + timedelta(seconds=later_s)
    offered = [new(question, trace=state.traces.get(question)) for question in "abcd"]
    drill = compose(offered, state.belief, minutes, at)
    assert math.isfinite(drill.bought)
    assert drill.bought >= 0.0

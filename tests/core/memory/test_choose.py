"""What a shift drill asks: never longer than its minutes, unsafe returns first, what matters most among the rest."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.histories import START
from training.core.memory.choose import Candidate, choose

AGO, AHEAD = START - timedelta(days=3), START + timedelta(days=3)


def seen(question, topic="isolation", consequence="life", due=AGO, **more):
    return Candidate(question=question, topic=topic, consequence=consequence, due_at=due, **{"last_at": AGO, **more})


def new(question, topic="isolation", consequence="life", **more):
    return Candidate(question=question, topic=topic, consequence=consequence, **more)


@st.composite
def candidates(draw):
    instants = st.one_of(st.none(), st.sampled_from([AGO, AHEAD, START - timedelta(hours=3)]))
    return [
        Candidate(
            question=f"q{number:02}",
            topic=draw(st.sampled_from(["isolation", "rescue", "lifting"])),
            consequence=draw(st.sampled_from(["life", "injury", "damage"])),
            due_at=draw(instants),
            last_at=draw(instants),
            seconds=draw(st.floats(5, 120)),
            must=draw(st.booleans()),
            last_wrong=draw(st.booleans()),
            rank=draw(st.integers(0, 2)),
        )
        for number in range(draw(st.integers(0, 25)))
    ]


@given(candidates(), st.floats(0, 12))
def test_a_drill_is_never_longer_than_its_minutes_and_asks_nothing_twice(offered, minutes):
    chosen = choose(offered, minutes, START)
    seconds = {one.question: one.seconds for one in offered}
    assert sum(seconds[one] for one in chosen) <= minutes * 60 + 1e-6
    assert len(set(chosen)) == len(chosen)


@given(candidates(), st.floats(0, 12), st.randoms(use_true_random=False))
def test_the_order_in_which_candidates_come_changes_nothing(offered, minutes, chance):
    shuffled = list(offered)
    chance.shuffle(shuffled)
    assert choose(shuffled, minutes, START) == choose(offered, minutes, START)


@given(candidates())
def test_unsafe_returns_whose_day_has_come_stand_first_and_others_wait(offered):
    chosen = choose(offered, 100, START)
    returns = {one.question for one in offered if one.must and (one.due_at is None or one.due_at <= START)}
    waiting = {one.question for one in offered if one.must} - returns
    assert set(chosen[: len(returns)]) == returns
    assert not waiting & set(chosen)


def test_life_comes_before_injury_before_damage_and_the_nearest_job_type_first():
    offered = [
        seen("damage", "a", "damage"),
        seen("injury", "b", "injury"),
        seen("far", "c", "life", rank=1),
        seen("near", "d", "life"),
    ]
    assert choose(offered, 5, START) == ("near", "far", "injury", "damage")
    assert choose(offered, 1.2, START) == ("near", "far")


def test_new_questions_come_in_small_portions_behind_what_is_due():
    offered = [*(new(f"n{number}") for number in range(9)), seen("due", "rescue", "damage")]
    chosen = choose(offered, 5, START)
    assert "due" in chosen
    assert len(chosen) == 6
    assert len(choose([new(f"n{number}") for number in range(9)], 2, START)) == 3


def test_what_was_seen_within_half_a_day_waits_unless_it_was_wrong():
    recent = START - timedelta(hours=2)
    offered = [seen("right", last_at=recent), seen("wrong", last_at=recent, last_wrong=True), seen("due", "rescue")]
    assert choose(offered, 5, START) == ("due", "wrong")


def test_what_is_not_due_yet_fills_the_rest_soonest_first():
    offered = [seen("later", due=AHEAD + timedelta(days=1)), seen("sooner", due=AHEAD)]
    assert choose(offered, 5, START) == ("sooner", "later")


def test_topics_are_interleaved():
    offered = [seen(f"i{number}") for number in range(4)] + [seen(f"r{number}", "rescue") for number in range(4)]
    chosen = choose(offered, 10, START)
    assert all(earlier[0] != later[0] for earlier, later in zip(chosen, chosen[1:], strict=False))


@pytest.mark.parametrize("wrong", [{"consequence": "fatal"}, {"seconds": 0.0}])
def test_a_candidate_that_makes_no_sense_is_refused(wrong):
    with pytest.raises(ValueError, match="of q"):
        Candidate(**{"question": "q", "topic": "rescue", "consequence": "life", **wrong})

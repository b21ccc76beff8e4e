"""A simulated crew: the same for the same seed, more for more minutes, and nothing without drills."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest

from tests.core.memory.simulation.small_crew import BANK, FAR, NEAR, ROLES, crew
from training.core.memory.simulation.asked import Asks, work_of
from training.core.memory.simulation.crews import counting
from training.core.memory.simulation.tally import held_by_week, tally_of
from training.core.memory.simulation.ways import OURS, RANDOM, WAYS


def as_lists(months):
    return [np.asarray(getattr(months, field.name)).tolist() for field in fields(months)]


@pytest.mark.parametrize("way", WAYS)
def test_the_same_seed_gives_the_same_months_and_another_seed_others(way):
    first, again, other = (list(map(as_lists, crew(seed, way=way))) for seed in (1, 1, 2))
    assert first == again
    assert first != other


def test_every_way_of_asking_meets_the_same_people_on_the_same_days():
    ours, chance = crew(way=OURS), crew(way=RANDOM)
    assert [one.there.tolist() for one in ours] == [one.there.tolist() for one in chance]
    assert [one.work for one in ours] == [one.work for one in chance] == [0, 0, 1, 1]


@pytest.mark.parametrize("way", WAYS)
def test_a_crew_that_never_drills_is_never_cleared(way):
    for one in crew(way=way, minutes=0.0):
        assert not one.held.any()
        assert one.answers.sum() == 0
        assert one.bounds.sum() == 0


@pytest.mark.parametrize("way", WAYS)
def test_more_minutes_never_mean_fewer_answers(way):
    counts = [[int(one.answers.sum()) for one in crew(way=way, minutes=minutes)] for minutes in (1.0, 3.0, 6.0)]
    assert all(few <= more <= most for few, more, most in zip(*counts, strict=True))
    assert sum(counts[0]) < sum(counts[2])


def test_a_drill_takes_about_its_minutes_and_only_on_days_at_work():
    for one in crew(weeks=12, way=RANDOM):
        drilled = one.minutes > 0
        assert not (drilled & ~one.there).any()
        assert one.minutes[drilled].mean() < 7.0


def test_nobody_is_held_before_each_life_question_was_answered_right():
    for one in crew():
        first = int(np.argmax(one.held_all)) if one.held_all.any() else len(one.there)
        assert one.answers[:first].sum() >= one.life


def test_lower_floors_hold_on_at_least_as_many_days_of_the_same_answers():
    """Random order asks the same whatever the floors are, so the answers are the same."""
    roles = [counting(ROLES, life_floor=life, mean_floor=life / 2, per_topic=None) for life in (0.3, 0.5, 0.7)]
    held = [tally_of(crew(way=RANDOM, roles=some), from_day=0).held for some in roles]
    assert held == sorted(held, reverse=True)


def test_by_our_own_model_at_least_95_in_100_recall_lows_hold_under_drills():
    bounds = tally_of(crew(people=8, weeks=20, own_model=True), from_day=0)
    print(f"\ntrue recall at or above recall low: {bounds.honest:.1%}")
    assert bounds.honest >= 0.95


def test_weeks_add_up_to_shares_between_0_and_1_and_rise_with_drilling():
    weeks = held_by_week(crew(people=6, weeks=16))
    assert len(weeks) == 16
    assert all(0.0 <= share <= 1.0 for share in weeks if share == share)
    assert weeks[0] < 0.2 < weeks[-1]


def test_what_counts_is_taken_a_topic_in_turn_and_by_name():
    asks = Asks(job_type="B", topics=("rescue", "isolation"), life_floor=0.6, mean_floor=0.4, most_life=3)
    names = [BANK[place].name for place in work_of(BANK, [asks]).parts[0].life]
    assert names == ["isolation 00", "isolation 03", "rescue 00"]


def test_a_limit_a_topic_keeps_as_many_life_questions_and_as_many_others_of_each():
    asks = Asks(job_type="B", topics=("rescue", "isolation"), life_floor=0.6, mean_floor=0.4, most_a_topic=1)
    work = work_of(BANK, [asks])
    assert [BANK[place].name for place in work.parts[0].life] == ["isolation 00", "rescue 00"]
    offered = [BANK[place].name for place in work.offered]
    assert offered == ["isolation 00", "isolation 01", "rescue 00", "rescue 01"]


def test_a_question_s_floor_is_the_highest_asked_and_its_rank_the_nearest_job_type():
    work = work_of(BANK, [NEAR, FAR])
    by_name = {question.name: place for place, question in enumerate(BANK)}
    assert [work.floor[by_name[name]] for name in ("rescue 00", "rescue 01", "isolation 00")] == [0.6, 0.4, 0.6]
    assert [work.rank[by_name[name]] for name in ("rescue 00", "rescue 01", "isolation 00")] == [0, 1, 1]


def test_job_types_that_ask_for_nothing_are_refused():
    with pytest.raises(ValueError, match="no question"):
        work_of(BANK, [Asks(job_type="X", topics=("lifting",), life_floor=0.6, mean_floor=0.4)])


def test_nobody_gives_no_tally():
    with pytest.raises(ValueError, match="one person"):
        tally_of([])

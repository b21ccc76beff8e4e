"""What has to hold whatever is asked: sound records, a sane clock, no open stand-down, nothing unreadable."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.core.permission.builders import (
    AT,
    MENTORS,
    age,
    answer,
    asks,
    book,
    certificate,
    certificate_of,
    days_ago,
    evidence,
    grounds,
    holds,
    job_type,
    observed,
    person,
    release,
    sign_off,
    stood_down,
    supervisor,
    with_person,
)
from training.core.permission.decide import decide
from training.core.permission.decision import Decision, Ground, Mode, RemedyKind
from training.core.permission.evidence import Evidence, Observation, Release, Supervision
from training.core.permission.rule_book import RecallOf

RULES = asks(certificate_of())
READY = evidence(person(certificates=(certificate(),)))


def refused(decision: Decision) -> list[Ground]:
    assert decision.mode is Mode.NOT_CLEARED
    assert decision.until is None
    return grounds(decision)


def test_this_evidence_clears_where_nothing_is_wrong() -> None:
    assert answer(READY, RULES).mode is Mode.ALONE


def test_a_chain_that_is_not_known_to_be_sound_clears_nobody() -> None:
    assert refused(answer(replace(READY, chain_sound=False), RULES)) == [Ground.CHAIN_BROKEN]


def test_a_broken_chain_hides_no_other_gap() -> None:
    assert refused(answer(evidence(chain_sound=False), RULES)) == [Ground.CHAIN_BROKEN, Ground.CERTIFICATE]


def test_an_unreadable_record_blocks_and_is_named() -> None:
    decision = answer(with_person(READY, unreadable=(9, 4)), RULES)
    assert refused(decision) == [Ground.RECORD_UNREADABLE]
    assert decision.gaps[0].records == (4, 9)


@pytest.mark.parametrize(("behind", "refusal"), [(2.0, []), (2.000001, [Ground.CLOCK])])
def test_a_clock_more_than_two_seconds_behind_the_records_clears_nobody(behind: float, refusal: list[Ground]) -> None:
    given = replace(READY, newest_recorded_at=AT + timedelta(seconds=behind))
    assert grounds(answer(given, RULES)) == refusal


def test_a_question_about_the_past_is_judged_by_the_clock_of_the_reading() -> None:
    given = replace(READY, newest_recorded_at=AT + timedelta(days=30), read_at=AT + timedelta(days=31))
    assert answer(given, RULES).mode is Mode.ALONE
    early = replace(given, read_at=AT + timedelta(days=29))
    assert refused(answer(early, RULES)) == [Ground.CLOCK]


def test_an_empty_chain_has_no_clock_to_be_behind() -> None:
    assert answer(replace(READY, newest_recorded_at=None), RULES).mode is Mode.ALONE


def test_evidence_newer_than_what_was_asked_for_clears_nobody() -> None:
    decision = decide(READY, RULES, "J", at=AT, known_at=999)
    assert refused(decision) == [Ground.RECORD_UNREADABLE]
    assert decide(READY, RULES, "J", at=AT, known_at=1000).mode is Mode.ALONE


# ------------------------------------------------------------------------------------------------------ stand-downs


def test_a_stand_down_blocks_from_its_instant_and_never_ages_out() -> None:
    given = with_person(READY, stand_downs=(stood_down(AT, record=5),))
    assert answer(given, RULES, at=AT - timedelta(seconds=1)).mode is Mode.ALONE
    decision = answer(given, RULES)
    assert refused(decision) == [Ground.STOOD_DOWN]
    assert decision.gaps[0].records == (5,)
    assert decision.gaps[0].remedy.kind is RemedyKind.RELEASE
    assert Ground.STOOD_DOWN in refused(answer(given, RULES, at=AT + timedelta(days=9000)))


def test_a_stand_down_blocks_supervised_work_too() -> None:
    given = evidence(person(stand_downs=(stood_down(),)), supervisors=(supervisor(),))
    assert refused(answer(given, asks(sign_off()))) == [Ground.STOOD_DOWN, Ground.SIGN_OFF]


SEEN_SINCE = observed(days_ago(2), record=50)


def released(*releases: Release, seen: Observation = SEEN_SINCE, **fields: Any) -> Evidence:
    """Tom, stood down three days ago, watched since, and released."""
    down = stood_down(days_ago(3), record=40, releases=releases, **fields)
    return with_person(READY, stand_downs=(down,), observations=(seen,))


def test_only_a_release_on_fresh_evidence_ends_a_stand_down_and_is_among_the_proofs() -> None:
    given = released(release(days_ago(1), 50, record=60))
    assert answer(given, RULES).mode is Mode.ALONE
    assert 60 in answer(given, RULES).proofs
    assert answer(given, RULES, at=days_ago(1.5)).mode is Mode.NOT_CLEARED


@pytest.mark.parametrize(
    "wrong",
    {
        "before the stand-down": release(days_ago(4), 50, record=60),
        "by the person": release(days_ago(1), 50, by="tom", record=60),
        "by whoever gave the job": release(days_ago(1), 50, by="giver", record=60),
        "by nobody": release(days_ago(1), 50, by="", record=60),
        "without evidence": release(days_ago(1), record=60),
        "on a record that is none": release(days_ago(1), 51, record=60),
        "written before its evidence": release(days_ago(1), 50, record=45),
        "dated before its evidence": release(days_ago(2.5), 50, record=60),
    }.items(),
    ids=lambda pair: pair[0],
)
def test_a_release_that_does_not_count_ends_nothing(wrong: tuple[str, Release]) -> None:
    assert refused(answer(released(wrong[1], job_given_by="giver"), RULES)) == [Ground.STOOD_DOWN]


@pytest.mark.parametrize(
    "seen",
    {
        "failed": observed(days_ago(2), record=50, passed=False),
        "before the stand-down": observed(days_ago(3.5), record=50),
        "with the mentor beside": observed(days_ago(2), record=50, supervision=Supervision.BESIDE),
        "watched only": observed(days_ago(2), record=50, supervision=Supervision.WATCHED),
        "a job closed": observed(days_ago(2), record=50, done_only=True),
        "by somebody who might not": observed(days_ago(2), record=50, by="joe"),
        "by himself": observed(days_ago(2), record=50, by="tom"),
    }.items(),
    ids=lambda pair: pair[0],
)
def test_what_is_no_fresh_evidence_carries_no_release(seen: tuple[str, Observation]) -> None:
    given = released(release(days_ago(1), 50, record=60), seen=seen[1])
    gap = answer(given, RULES).gaps[0]
    assert (gap.ground, dict(gap.facts)) == (Ground.STOOD_DOWN, {"people": 1, "fresh_evidence": False})


def test_after_an_incident_two_people_have_to_release() -> None:
    first, again = release(days_ago(1), 50, record=60), release(days_ago(0.9), 50, record=61)
    second = release(days_ago(0.5), 50, by="chief", record=62)
    assert refused(answer(released(first, again, incident=True), RULES)) == [Ground.STOOD_DOWN]
    both = released(first, second, incident=True)
    assert answer(both, RULES).mode is Mode.ALONE
    assert {60, 62} <= set(answer(both, RULES).proofs)
    assert answer(both, RULES, at=days_ago(0.7)).mode is Mode.NOT_CLEARED


def test_a_medical_one_may_be_released_on_a_new_medical_answer_and_no_other_on_that() -> None:
    yes = certificate("medical", (AT - timedelta(days=2)).date(), record=50)
    for medical, mode in ((True, Mode.ALONE), (False, Mode.NOT_CLEARED)):
        down = stood_down(days_ago(3), record=40, medical=medical, releases=(release(days_ago(1), 50, record=60),))
        given = with_person(READY, stand_downs=(down,), certificates=(*READY.of.certificates, yes))
        assert answer(given, RULES).mode is mode


def test_a_mentors_release_counts_for_what_they_signed_afterwards() -> None:
    seen = observed(days_ago(30), by="max", record=50)
    down = stood_down(days_ago(40), record=40, releases=(release(days_ago(20), 50, record=60),))
    fallen = replace(MENTORS["mia"], stand_downs=(down,), observations=(seen,))
    people = {**MENTORS, "mia": fallen}
    for days, mode in ((10, Mode.ALONE), (30, Mode.NOT_CLEARED)):
        given = evidence(person(observations=(observed(days_ago(days), by="mia"),)), colleagues=people)
        assert answer(given, asks(sign_off())).mode is mode


def test_a_stand_down_touches_its_job_types_and_what_stands_on_them() -> None:
    rules = book(
        job_type(certificate_of(), key="A"), job_type(holds("A"), key="J"), job_type(certificate_of(), key="K")
    )
    given = with_person(READY, stand_downs=(stood_down(None, "A"),))
    assert [answer(given, rules, key=key).mode for key in "AJK"] == [Mode.NOT_CLEARED, Mode.NOT_CLEARED, Mode.ALONE]


def test_each_open_stand_down_is_a_gap_of_its_own() -> None:
    given = with_person(READY, stand_downs=(stood_down(record=8), stood_down(record=7)))
    assert [gap.records for gap in answer(given, RULES).gaps] == [(7,), (8,)]


# ---------------------------------------------------------------------------------------------- what makes no sense

CORRUPT: dict[str, dict[str, Any]] = {
    "soundness": {"chain_sound": 1},
    "no person": {"of": None},
    "zone": {"zone": "Atlantis/Deep"},
    "questions": {"gates": (None,)},
    "supervisors": {"supervisors": (None,)},
    "newest": {"newest_recorded_at": "yesterday"},
    "naive": {"newest_recorded_at": datetime(2026, 1, 1)},  # noqa: DTZ001
    "head": {"head": None},
    "colleagues": {"colleagues": None},
}


@pytest.mark.parametrize("change", CORRUPT.values(), ids=CORRUPT.keys())
def test_evidence_that_makes_no_sense_is_not_cleared_and_raises_nothing(change: dict[str, Any]) -> None:
    assert refused(answer(replace(READY, **change), RULES)) == [Ground.RECORD_UNREADABLE]


def test_no_evidence_at_all_is_not_cleared() -> None:
    decision = answer(None, RULES)  # type: ignore[arg-type]
    assert refused(decision) == [Ground.RECORD_UNREADABLE]
    assert (decision.parameter_set, decision.head) == (0, 0)


def test_an_instant_without_its_offset_is_not_cleared() -> None:
    assert refused(answer(READY, RULES, at=AT.replace(tzinfo=None))) == [Ground.RECORD_UNREADABLE]


def test_one_requirement_that_fails_hides_no_other_gap() -> None:
    broken = RecallOf(
        topics=None,  # type: ignore[arg-type]
        life_floor=0.6,
        topic_mean_floor=0.4,
        sentence="",
        source="",
    )
    assert refused(answer(evidence(), asks(broken, certificate_of()))) == [Ground.RECORD_UNREADABLE, Ground.CERTIFICATE]


def test_an_end_that_rounds_down_to_the_past_is_over() -> None:
    # Monrovia kept 44 min 30 s behind Greenwich until 1972 (tz database): its days close at half a minute
    long_ago = date(1968, 3, 2)
    tom = person(certificates=(certificate(issued_on=long_ago),), ages=(age(False, long_ago),))
    given = replace(evidence(tom, newest_recorded_at=None), zone="Africa/Monrovia")
    last_second = datetime(1970, 3, 3, 0, 44, 29, tzinfo=UTC)
    assert answer(given, RULES, at=last_second - timedelta(minutes=1)).mode is Mode.ALONE
    assert Ground.RECORD_UNREADABLE in refused(answer(given, RULES, at=last_second))

"""Coming rule books at their edges: one that has come lately, and clearances without an end."""

from __future__ import annotations

from datetime import timedelta

from tests.core.permission.builders import (
    AT,
    answer,
    asks,
    certificate,
    certificate_of,
    days_ago,
    evidence,
    observed,
    person,
    question,
    recall_of,
    sign_off,
    supervisor,
)
from tests.core.permission.test_coming import comes, together
from training.core.permission.decision import Ground, Mode
from training.core.questions.kinds import Topic


def test_a_book_that_has_come_is_asked_now_and_not_on_the_day_it_came() -> None:
    rules = asks(sign_off("T1"))
    given = evidence(person(observations=(observed(days_ago(5)),)))
    for days in (-10, 0):
        decision = together(given, rules, [comes(days, rules)])
        assert (decision.mode, decision.until) == (Mode.ALONE, answer(given, rules).until)


def test_the_same_book_again_or_later_changes_no_end() -> None:
    paper = asks(certificate_of(months=24))
    given = evidence(person(certificates=(certificate(),)))
    decision = together(given, paper, [comes(-1, paper), comes(300, paper)])
    assert (decision.mode, decision.until) == (Mode.ALONE, answer(given, paper).until)


def test_a_clearance_without_an_end_has_none_under_the_same_book_again() -> None:
    rules = asks(recall_of(Topic.WORK_AREA, Topic.RESCUE, mean=None, most=1))
    early = question("r0", ln_hold=None)
    held = question("w0", topic=Topic.WORK_AREA, accepted_on=early.accepted_on - timedelta(days=30), ln_hold=9.0)
    alone = answer(evidence(gates=(early, held)), rules)
    assert alone.mode is Mode.ALONE
    again = together(evidence(gates=(early, held)), rules, [comes(-1, rules)])
    assert (again.mode, again.until, again.ends_by) == (alone.mode, alone.until, alone.ends_by)


def test_supervised_under_the_book_that_has_come_lasts_as_long_as_its_supervisor() -> None:
    loose, strict = asks(certificate_of()), asks(certificate_of(), sign_off("T1"))
    ends = AT + timedelta(days=9)
    given = evidence(person(certificates=(certificate(),)), supervisors=(supervisor("sue", ends),))
    for books in ([comes(-1, strict)], [comes(-1, strict), comes(30, loose)], [comes(-2, loose), comes(-1, strict)]):
        decision = together(given, loose, books)
        assert (decision.mode, decision.until, decision.supervisors) == (Mode.SUPERVISED, ends, ("sue",))


def test_not_cleared_under_one_book_has_no_end_and_no_supervisor() -> None:
    loose, closed = asks(certificate_of()), asks(certificate_of(), certificate_of("medical"))
    given = evidence(person(certificates=(certificate(),)), supervisors=(supervisor(),))
    decision = together(given, loose, [comes(-1, closed)])
    assert (decision.mode, decision.until, decision.ends_by) == (Mode.NOT_CLEARED, None, None)
    assert (decision.supervisors, [gap.subject for gap in decision.gaps]) == ((), ["medical"])


def test_nobody_is_told_to_look_for_a_supervisor_where_one_book_needs_more() -> None:
    learner = asks(certificate_of(), sign_off("T1"))
    closed = asks(certificate_of(), sign_off("T1"), certificate_of("medical"))
    given = evidence(person(certificates=(certificate(),)))
    both = together(given, learner, [comes(-1, closed)])
    assert Ground.NO_SUPERVISOR not in {gap.ground for gap in both.gaps}
    alike = together(given, learner, [comes(-1, learner)])
    assert Ground.NO_SUPERVISOR in {gap.ground for gap in alike.gaps}
    qualified = evidence(person(certificates=(certificate(),), observations=(observed(days_ago(5)),)))
    one = together(qualified, asks(certificate_of()), [comes(-1, asks(certificate_of(), sign_off("T2")))])
    assert Ground.NO_SUPERVISOR in {gap.ground for gap in one.gaps}

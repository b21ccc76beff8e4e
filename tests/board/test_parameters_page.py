"""A proposed parameter set: what managers see before they put it in force, and what it does to clearances."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from html import unescape
from typing import Any

import pytest
from django.urls import reverse

from tests.board.house import NOW, House, signed_in
from training.board.actions import sweep, work_out
from training.board.queries import decision_for, evidence_for, read_workshop
from training.board.refit import changes
from training.board.stored import cells_of
from training.core.permission.decision import Ground, Mode
from training.drill.facts import PARAMETERS, ParametersConfirmed, ParametersProposed
from training.drill.parameters import set_of
from training.drill.refitting import confirm_parameters
from training.people.models import Person
from training.records.models import Body, Record

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]
SetClock = Callable[[datetime], None]
LATER = NOW + timedelta(hours=1)


def harder(number: int = 2, *, easiness: int = -4_000) -> ParametersProposed:
    """A set by which every question of the house is much harder than was thought, so that recall counts for less."""
    return ParametersProposed(
        number=number, base=1, b_milli=9_680, fade_milli=1_087,
        easiness=[(f"question-{n}", easiness, 300) for n in range(1, 5)],
        answers=2_400, held_out=480, loss_before_micro=512_345, loss_after_micro=498_765,
    )  # fmt: skip


def propose(house: House, fact: ParametersProposed | None = None, *, at: datetime = NOW) -> Record:
    from django.db import transaction

    from training.records.actions import append

    with transaction.atomic():
        return append(fact or harder(), chain_id=house.chain_id, about=PARAMETERS, at=at)


def page(viewer: Person) -> tuple[int, str]:
    answered = signed_in(viewer).get(reverse("board:parameters"))
    return answered.status_code, unescape(answered.content.decode())


def confirm(viewer: Person, number: int = 2) -> Any:
    return signed_in(viewer).post(reverse("board:confirm_parameters", args=[number]), follow=True)


# ------------------------------------------------------------------------------------------------------ what it does
def test_a_proposal_alone_changes_no_decision(house: House) -> None:
    before = decision_for(house.tina, house.workshop, "B", NOW)
    propose(house)
    after = decision_for(house.tina, house.workshop, "B", NOW)
    assert (after.mode, after.until, after.parameter_set) == (before.mode, before.until, 1)
    assert after.mode is Mode.ALONE


def test_a_set_in_force_decides_and_the_decision_names_it(house: House) -> None:
    propose(house)
    confirm_parameters(number=2, by=house.manager, at=LATER)
    decision = decision_for(house.tina, house.workshop, "B", LATER)
    assert decision.parameter_set == 2
    assert decision.mode is Mode.NOT_CLEARED
    assert Ground.RECALL_LIFE_QUESTIONS in {gap.ground for gap in decision.gaps}


def test_evidence_carries_the_parameters_it_was_folded_with(house: House) -> None:
    propose(house)
    confirm_parameters(number=2, by=house.manager, at=LATER)
    evidence = evidence_for(read_workshop(house.workshop, read_at=LATER), house.tina, at=LATER)
    assert (evidence.parameter_set, evidence.parameters.number) == (2, 2)
    assert {one.gate.easiness for one in evidence.gates if one.gate} == {-4.0}


def test_the_past_is_answered_with_the_set_that_was_known_then(house: House) -> None:
    known_at = read_workshop(house.workshop, read_at=NOW).known_at
    before = _decided(house, known_at)
    propose(house)
    confirm_parameters(number=2, by=house.manager, at=LATER)
    assert _decided(house, known_at) == before
    assert before.parameter_set == 1


def _decided(house: House, known_at: int) -> Any:
    from training.board.queries import decisions_for

    reading = read_workshop(house.workshop, read_at=LATER, known_at=known_at)
    return decisions_for(reading, evidence_for(reading, house.tina, at=NOW), at=NOW)["B"]


def test_putting_a_set_in_force_cuts_every_stored_clearance_until_it_is_worked_out_anew(
    house: House, set_clock: SetClock
) -> None:
    work_out(workshop=house.workshop, people=None, at=NOW)
    place = (house.tina.pk, "B")
    assert cells_of(house.workshop, [house.tina], ["B"], at=NOW)[place].is_alone
    propose(house)
    assert cells_of(house.workshop, [house.tina], ["B"], at=NOW)[place].is_alone
    confirm_parameters(number=2, by=house.manager, at=LATER)
    assert cells_of(house.workshop, [house.tina], ["B"], at=LATER)[place].decision is None
    sweep(at=LATER)
    decision = cells_of(house.workshop, [house.tina], ["B"], at=LATER)[place].decision
    assert decision is not None
    assert (decision.mode, decision.parameter_set) == (Mode.NOT_CLEARED, 2)


@pytest.mark.parametrize("kind", [ParametersProposed.kind, ParametersConfirmed.kind])
def test_a_set_in_force_that_cannot_be_read_clears_nobody(house: House, kind: str) -> None:
    from django.db import connection

    from training.records.triggers import away

    propose(house, harder(easiness=0))
    confirm_parameters(number=2, by=house.manager, at=LATER)
    assert decision_for(house.tina, house.workshop, "B", LATER).mode is Mode.ALONE
    with away(connection):
        Body.objects.filter(record__kind=kind).delete()
    for person in (house.tina, house.rob):
        decision = decision_for(person, house.workshop, "A", LATER)
        assert decision.mode is Mode.NOT_CLEARED
        assert Ground.RECORD_UNREADABLE in {gap.ground for gap in decision.gaps}
    assert "The set in force cannot be read" in page(house.manager)[1]


# ---------------------------------------------------------------------------------------------------------- the page
def test_without_a_proposal_the_page_says_which_set_is_in_force(house: House) -> None:
    status, text = page(house.manager)
    assert status == 200
    assert "Set 1 is in force." in text
    assert "No newer set is proposed." in text


def test_a_manager_sees_who_would_lose_before_it_is_in_force(house: House) -> None:
    propose(house)
    status, text = page(house.manager)
    assert status == 200
    assert "Set 2, proposed 2 Mar 2026 10:00" in text
    assert "2400, of which the last 480 were held out" in text
    assert "0.499 an answer, 0.512 with the set it was fitted from" in text
    assert "2 lose: Tina O., Rob H." in text or "1 loses: Tina O." in text
    assert "Put set 2 in force" in text


def test_gain_and_loss_are_those_of_the_decisions_on_both_sides(house: House, set_clock: SetClock) -> None:
    late = NOW + timedelta(days=27)  # isolation and rescue have lapsed by then
    set_clock(late)
    easier = set_of(harder(easiness=4_000))
    worse = set_of(harder())
    assert easier is not None
    assert worse is not None
    by_type = {change.job_type: change for change in changes(house.workshop.group, easier, at=late)}
    assert "Tina O." in by_type["A"].gain
    assert by_type["A"].lose == ()
    now = {change.job_type: change for change in changes(house.workshop.group, worse, at=NOW)}
    assert "Tina O." in now["B"].lose
    assert now["B"].gain == ()
    same = changes(house.workshop.group, set_of(harder(easiness=0)) or easier, at=NOW)
    assert [(change.gain, change.lose) for change in same] == [((), ()), ((), ())]
    assert same[0].stay >= 1


def test_a_manager_puts_it_in_force_and_a_second_tap_changes_nothing(house: House) -> None:
    propose(house)
    for _tap in range(2):
        answered = confirm(house.manager)
        assert answered.status_code == 200
    text = unescape(answered.content.decode())
    assert "Set 2 is in force." in text
    assert "No newer set is proposed." in text
    assert Record.objects.filter(kind=ParametersConfirmed.kind).count() == 1


def test_a_set_that_is_not_the_newest_is_refused_in_words(house: House) -> None:
    propose(house)
    answered = confirm(house.manager, 7)
    assert answered.status_code == 400
    assert "not the newest proposed" in unescape(answered.content.decode())


@pytest.mark.parametrize("viewer", ["mentor", "tina", "rob"])
def test_nobody_but_a_manager_sees_or_confirms_a_set(house: House, viewer: str) -> None:
    propose(house)
    assert page(getattr(house, viewer))[0] == 404
    assert confirm(getattr(house, viewer)).status_code == 404
    assert Record.objects.filter(kind=ParametersConfirmed.kind).count() == 0


def test_a_manager_of_another_group_sees_and_confirms_only_their_own(house: House) -> None:
    propose(house)
    assert "No newer set is proposed." in page(house.foreign_manager)[1]
    assert confirm(house.foreign_manager).status_code == 400


def test_a_set_is_put_in_force_only_by_a_post(house: House) -> None:
    assert signed_in(house.manager).get(reverse("board:confirm_parameters", args=[2])).status_code == 405

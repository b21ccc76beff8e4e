"""What is erased of whom: nothing of people at work, answers first, evidence six years after leaving, names last."""

from __future__ import annotations

from collections.abc import Callable, Collection
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.contrib.auth import authenticate
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.board.house import NOW, House, answer, signed_in
from tests.factories.people import PASSWORD, ManagerFactory
from training.board.actions import sweep
from training.board.gaps import gaps_words
from training.board.models import StoredClearance
from training.board.privacy import deciding
from training.board.privacy.erasing import erase_person
from training.board.privacy.retention import ANSWERS, kept_of, left_on
from training.board.privacy.tasks import list_due_erasures
from training.board.queries import board_of, decision_for
from training.board.voices import voice_of
from training.core.permission.decision import Decision, Ground, Mode
from training.people.leaving import close_left, enter_leaving_day
from training.people.models import Person
from training.people.refusal import Refusal
from training.records.actions import Refused
from training.records.facts import BodiesErased
from training.records.models import Body, Record
from training.records.queries import facts_of, head_of
from training.records.seal import first_bad_record

pytestmark = [pytest.mark.django_db, pytest.mark.db]
SOON, LATE = datetime(2026, 6, 1, 9, tzinfo=UTC), datetime(2032, 9, 1, 9, tzinfo=UTC)


def leave(person: Person) -> Person:
    Person.objects.filter(pk=person.pk).update(is_active=False)
    person.refresh_from_db()
    return person


def decide(person: Person, numbers: Collection[int], *, at: datetime, confirmed: bool = True) -> Record:
    """One manager proposes that these records go, a second one confirms it."""
    first = Person.objects.filter(group=person.group, roles__role="manager")[0]
    proposed = deciding.propose(person=person, numbers=sorted(numbers), why="Letter of 28 May.", by=first, at=at)
    if confirmed:
        second = ManagerFactory(workshop=person.workshop)
        deciding.confirm(person=person, record=proposed.number, by=second, at=at)
    return proposed


def erase(person: Person, *kinds: str, at: datetime) -> Record:
    rows = kept_of(person, today=at.date())
    numbers = [row.number for row in rows if not kinds or row.kind in kinds]
    if not any(row.held for row in rows if row.number in numbers):
        decide(person, numbers, at=at)
    return erase_person(person=person, numbers=numbers, why="Asked for.", by="m" * 32, at=at)


def erased_gap_days(decision: Decision) -> list[object]:
    gaps = [gap for gap in decision.gaps if gap.ground is Ground.RECORD_UNREADABLE]
    return [dict(gap.facts).get("erased_on") for gap in gaps]


def manage(*words: str) -> str:
    out = StringIO()
    call_command("erase_bodies", *words, stdout=out)
    return out.getvalue()


def test_nothing_of_people_at_work_is_erased(house: House) -> None:
    assert left_on(house.tina) is None
    assert all("they have left" in row.held and not row.over for row in kept_of(house.tina, today=LATE.date()))
    with pytest.raises(Refused, match="has to stay: what this person may take is still worked out from it"):
        erase(house.tina, at=LATE)
    assert Body.objects.count() == Record.objects.count()


def test_of_whoever_has_left_the_answers_may_go_and_their_counts_stay(house: House) -> None:
    answer(house, house.tina, house.questions[0], at=NOW, right=False, act=False)
    evidence = erase(leave(house.tina), *ANSWERS, at=SOON)
    (said,) = facts_of([BodiesErased], chain_id=house.chain_id)
    assert said.fact is not None
    assert (said.number, said.about) == (evidence.number, house.tina.key)
    assert said.fact.counts == [
        ("drill.answered", 21), ("drill.answered: held back", 1), ("drill.answered: sound", 20)
    ]  # fmt: skip
    assert first_bad_record(house.chain_id) is None
    assert not Body.objects.filter(record__about=house.tina.key, record__kind__in=ANSWERS).exists()


def test_evidence_stays_for_six_years_after_leaving(house: House) -> None:
    tina = leave(house.tina)
    with pytest.raises(Refused, match=r"has to stay: kept for six years after leaving, for claims: through 2032-02-27"):
        erase(tina, at=SOON)
    assert Body.objects.count() == Record.objects.count()


def test_the_years_count_from_the_leaving_day_that_was_entered(house: House) -> None:
    second = ManagerFactory(workshop=house.workshop)
    tina, last_day = house.tina, date(2026, 3, 31)
    enter_leaving_day(person=tina, last_day=last_day, by=house.manager, at=NOW)
    assert left_on(Person.objects.get(pk=tina.pk)) is None
    close_left(at=SOON)
    tina = Person.objects.get(pk=tina.pk)
    assert (tina.is_active, left_on(tina)) == (False, last_day)
    assert {row.end for row in kept_of(tina, today=SOON.date()) if row.kind not in ANSWERS} == {date(2032, 3, 31)}
    assert all(row.held for row in kept_of(tina, today=date(2032, 3, 31)) if row.kind not in ANSWERS)
    assert all(row.over for row in kept_of(tina, today=date(2032, 4, 1)))
    enter_leaving_day(person=tina, last_day=date(2026, 4, 30), by=second, at=SOON)
    assert left_on(Person.objects.get(pk=tina.pk)) == date(2026, 4, 30)


# ---------------------------------------------------------------- two managers
def test_nothing_goes_before_two_managers_have_said_so(house: House) -> None:
    tina = leave(house.tina)
    numbers = [row.number for row in kept_of(tina, today=SOON.date()) if row.kind in ANSWERS]
    proposed = decide(tina, numbers, at=SOON, confirmed=False)
    for who, why in (
        (house.manager, "You proposed this"),
        (house.rob, "Only a manager"),
        (house.foreign_manager, "not of your"),
    ):
        with pytest.raises(Refusal, match=why):
            deciding.confirm(person=tina, record=proposed.number, by=who, at=SOON)
    with pytest.raises(Refused, match="Two managers have not confirmed"):
        erase_person(person=tina, numbers=numbers, why="Over.", by="x", at=SOON)
    assert Body.objects.count() == Record.objects.count()
    second = ManagerFactory(workshop=house.workshop)
    deciding.confirm(person=tina, record=proposed.number, by=second, at=SOON)
    with pytest.raises(Refusal, match="confirmed already"):
        deciding.confirm(person=tina, record=proposed.number, by=second, at=SOON)
    with pytest.raises(Refused, match="Two managers have not confirmed"):
        erase_person(person=tina, numbers=[*numbers, min(row.number for row in kept_of(tina, today=LATE.date()))],
                     why="Over.", by="x", at=LATE)  # fmt: skip
    erase_person(person=tina, numbers=numbers, why="Over.", by="x", at=SOON)
    assert first_bad_record(house.chain_id) is None


def test_what_has_to_stay_cannot_be_proposed(house: House) -> None:
    tina = leave(house.tina)
    held = [row.number for row in kept_of(tina, today=SOON.date()) if row.held]
    for numbers in (held, [], [10**6]):
        with pytest.raises(Refusal, match="have to stay, or are erased already"):
            deciding.propose(person=tina, numbers=numbers, why="Over.", by=house.manager, at=SOON)
    with pytest.raises(Refusal, match="have to stay"):
        deciding.propose(person=house.rob, numbers=[1], why="Over.", by=house.manager, at=SOON)


def test_a_newer_proposal_takes_the_place_of_the_one_before(house: House) -> None:
    tina = leave(house.tina)
    numbers = [row.number for row in kept_of(tina, today=SOON.date()) if not row.held]
    old = decide(tina, numbers[:3], at=SOON, confirmed=False)
    with pytest.raises(Refusal, match="proposed already"):
        decide(tina, numbers[:3], at=SOON, confirmed=False)
    decide(tina, numbers, at=SOON, confirmed=False)
    with pytest.raises(Refusal, match="not the newest"):
        deciding.confirm(person=tina, record=old.number, by=ManagerFactory(workshop=house.workshop), at=SOON)


def test_the_pages_take_it_from_one_manager_to_the_other(house: House, set_clock: Callable[[datetime], None]) -> None:
    second = ManagerFactory(workshop=house.workshop)
    set_clock(datetime(2028, 1, 31, 9, tzinfo=UTC))
    tina = leave(house.tina)
    one, other, page = signed_in(house.manager), signed_in(second), reverse("board:erasure", args=[tina.pk])
    assert "16 records: their time is over." in one.get(reverse("board:leavers")).content.decode()
    over = {"what": "over", "why": "Time is over.", "password": PASSWORD}
    assert one.post(page, over | {"password": "wrong"}).status_code == 400
    assert one.post(page, over).status_code == 302
    assert "You proposed this. Another manager confirms it." in one.get(page).content.decode()
    assert "proposes to erase 16 records." in other.get(reverse("board:leavers")).content.decode()
    assert Body.objects.count() == Record.objects.count()
    assert other.post(page, {"password": PASSWORD}).status_code == 302
    assert "Confirmed by two managers: 16 records go" in one.get(reverse("board:leavers")).content.decode()
    assert "erased 16 by record" in manage("--retention", "--yes")
    assert "Nothing is due yet." in one.get(reverse("board:leavers")).content.decode()
    assert signed_in(house.foreign_manager).get(page).status_code == 404
    assert signed_in(house.rob).get(reverse("board:leavers")).status_code == 403


def test_the_list_says_how_many_wait_for_a_manager(house: House, set_clock: Callable[[datetime], None]) -> None:
    leave(house.tina)
    set_clock(SOON)
    assert list_due_erasures() == 0
    set_clock(datetime(2028, 1, 31, 9, tzinfo=UTC))
    assert list_due_erasures() == 1
    numbers = [row.number for row in kept_of(house.tina, today=date(2028, 1, 31)) if row.over]
    decide(house.tina, numbers, at=datetime(2028, 1, 31, 9, tzinfo=UTC))
    assert list_due_erasures() == 0


def test_the_list_of_who_has_left_asks_the_database_as_often_for_many(
    house: House, django_assert_max_num_queries: Any
) -> None:
    leave(house.tina)
    with CaptureQueriesContext(connection) as one:
        deciding.leavers(house.workshop.group, at=LATE)
    for person in (house.rob, house.sam):
        leave(person)
    with django_assert_max_num_queries(len(one)):
        assert len(deciding.leavers(house.workshop.group, at=LATE)) == 3


def test_in_the_end_the_name_goes_and_key_and_tally_stay(house: House) -> None:
    tina, key, tally = leave(house.tina), house.tina.key, house.tina.tally
    sweep(at=NOW)
    erase(tina, at=LATE)
    tina.refresh_from_db()
    assert (tina.key, tina.tally, tina.is_active) == (key, tally, False)
    assert "Tina" not in tina.full_name
    assert "Olsen" not in tina.full_name
    assert authenticate(username=tina.username, password="") is None
    assert not StoredClearance.objects.filter(person=tina).exists()
    assert first_bad_record(house.chain_id) is None


def test_an_erased_stand_down_clears_nobody_neither_now_nor_in_the_past(house: House) -> None:
    for person in (house.sam, house.tina):
        leave(person)
        erase(person, at=LATE)
        Person.objects.filter(pk=person.pk).update(is_active=True)
    moments = ((NOW, None), (NOW - timedelta(days=3), None), (LATE, None), (NOW, head_of(house.chain_id).number - 2))
    for at, known_at in moments:
        board = board_of(house.workshop, at=at, read_at=LATE, known_at=known_at)
        for person in (house.sam, house.tina):
            for decision in board[person.key].values():
                assert decision.mode is Mode.NOT_CLEARED
                assert "2032-09-01" in erased_gap_days(decision)


def test_a_question_about_the_past_says_that_its_records_were_erased(house: House) -> None:
    assert decision_for(house.tina, house.workshop, "A", NOW).mode is Mode.ALONE
    erase(leave(house.tina), *ANSWERS, at=SOON)
    Person.objects.filter(pk=house.tina.pk).update(is_active=True)
    decision = board_of(house.workshop, at=NOW, read_at=SOON)[house.tina.key]["A"]
    assert decision.mode is Mode.NOT_CLEARED
    voice = voice_of(house.workshop, None, now=SOON)
    said = [gap.now for gap in gaps_words(decision, voice)]
    assert "Erased on 1 Jun 2026: what was on record is no longer kept, so this cannot be answered." in said


def test_others_are_decided_as_before(house: House) -> None:
    before = board_of(house.workshop, at=SOON, read_at=SOON)
    erase(leave(house.sam), *ANSWERS, at=SOON)
    after = board_of(house.workshop, at=SOON, read_at=SOON)
    for person in (house.tina, house.rob, house.nina):
        for key, decision in after[person.key].items():
            was = before[person.key][key]
            assert (decision.mode, decision.until, decision.gaps) == (was.mode, was.until, was.gaps)


def test_the_command_lists_first_and_erases_only_when_told(house: House, set_clock: Callable[[datetime], None]) -> None:
    set_clock(SOON)
    tina = leave(house.tina)
    listed = manage("--person", tina.username)
    assert "20 of 26 records may be erased" in listed
    assert "drill.answered: 20" in listed
    assert "6 stay: kept for six years after leaving" in listed
    assert Body.objects.count() == Record.objects.count()
    assert "erased" not in manage("--person", str(tina.tally), "--group", tina.group.slug, "--yes").splitlines()[-1]
    assert Body.objects.count() == Record.objects.count()
    decide(tina, [row.number for row in kept_of(tina, today=SOON.date()) if not row.held], at=SOON)
    done = manage("--person", tina.username, "--before", "2026-02-01", "--yes")
    assert f"erased 16 by record {head_of(house.chain_id).number}" in done
    with pytest.raises(CommandError, match="Nobody"):
        manage("--person", "nobody")


def test_retention_takes_what_is_over_and_nothing_else(house: House, set_clock: Callable[[datetime], None]) -> None:
    tina, then = leave(house.tina), datetime(2028, 1, 31, 9, tzinfo=UTC)  # 24 months after four of five days of answers
    set_clock(then)
    decide(tina, [row.number for row in kept_of(tina, today=then.date()) if row.over], at=then)
    assert "erased 16 by record" in manage("--retention", "--yes")
    assert "  erased " not in manage("--retention", "--yes")
    set_clock(LATE)
    decide(tina, [row.number for row in kept_of(tina, today=LATE.date())], at=LATE)
    assert "erased 10 by record" in manage("--retention", "--yes")
    house.tina.refresh_from_db()
    assert house.tina.given_name == "Erased"
    assert first_bad_record(house.chain_id) is None
    assert deciding.leavers(house.workshop.group, at=LATE) == []

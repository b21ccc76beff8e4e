"""Proposing, confirming and withdrawing rule books, and what the records of it come to."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from tests.factories.bank import TaskVersionFactory
from tests.factories.people import ManagerFactory, PersonFactory, RoleHeldFactory, WorkshopFactory
from training.bank.actions import confirm_rule_book, propose_rule_book, put_in_force, withdraw_rule_book
from training.bank.facts import RuleBookConfirmed, RuleBookProposed, RuleBookWithdrawn
from training.bank.rule_book_checks import mapping_from, may_confirm, rule_book_for
from training.bank.rule_books import coming_books, rule_book_of, starting_book
from training.bank.rule_history import Rules, rules_of
from training.core.permission.reading import BadRuleBook
from training.people.models import Person, RoleHeld, Workshop
from training.people.refusal import Refusal
from training.people.sentences import SAYINGS
from training.records.actions import append
from training.records.models import Mark, Record

pytestmark = pytest.mark.django_db

AT = datetime(2026, 3, 2, 9, tzinfo=UTC)
TODAY = date(2026, 3, 2)
LATER = TODAY + timedelta(days=30)


@dataclass
class Office:
    """A workshop with its starting rule book, two managers and somebody who is none."""

    workshop: Workshop
    manager: Person
    other: Person
    technician: Person

    def rules(self, **known: Any) -> Rules:
        return rules_of(self.workshop, **known)

    def version(self, **known: Any) -> int | None:
        book = rule_book_of(self.workshop, **known)
        return book.version if book else None

    def propose(self, *, from_day: date = TODAY, at: datetime = AT, **changed: Any) -> Record:
        given: dict[str, Any] = {"book": looser(), "reason": "A year is enough.", "by": self.manager}
        return propose_rule_book(workshop=self.workshop, from_day=from_day, at=at, **(given | changed))

    def confirm(self, proposal: Record, *, by: Person | None = None, at: datetime = AT) -> Record:
        return confirm_rule_book(workshop=self.workshop, proposal=proposal.number, by=by or self.other, at=at)

    def withdraw(self, proposal: Record, **changed: Any) -> Record:
        given: dict[str, Any] = {"reason": "A slip.", "by": self.manager, "at": AT}
        return withdraw_rule_book(workshop=self.workshop, proposal=proposal.number, **(given | changed))


@pytest.fixture
def office() -> Office:
    workshop = WorkshopFactory()
    made = Office(
        workshop=workshop,
        manager=ManagerFactory(workshop=workshop),
        other=ManagerFactory(workshop=workshop),
        technician=PersonFactory(workshop=workshop),
    )
    put_in_force(workshop=workshop, book=starting_book(), by=made.manager, at=AT - timedelta(days=90))
    return made


def looser() -> dict[str, Any]:
    """The starting book without the last requirement of B."""
    book = starting_book()
    book["job_types"][1]["requirements"].pop()
    return book


# ------------------------------------------------------------------------------------------------ in force, from when


def test_a_proposal_changes_nothing(office: Office) -> None:
    proposal = office.propose()
    assert office.version() == 1
    assert [one.record for one in office.rules().proposed] == [proposal.number]
    assert office.rules().proposed[0].version == 2


def test_a_second_person_puts_it_in_force_from_that_record_on(office: Office) -> None:
    proposal = office.propose()
    confirmed = office.confirm(proposal)
    assert office.version() == 2
    assert office.version(known_at=confirmed.number - 1) == 1
    assert office.version(at=AT - timedelta(minutes=1)) == 1
    standing = office.rules()
    assert standing.in_force is not None
    assert (standing.in_force.confirmed_by, standing.in_force.since) == (office.other.key, AT)
    assert [one.version for one in standing.past] == [1]


def test_one_confirmed_before_its_day_comes_and_is_not_in_force_until_it_is_confirmed_again(office: Office) -> None:
    proposal = office.propose(from_day=LATER)
    office.confirm(proposal)
    assert office.version() == 1
    assert [(one.from_day, one.book is not None) for one in coming_books(office.rules())] == [(LATER, True)]
    on_the_day = AT + timedelta(days=30)
    again = office.confirm(proposal, by=office.manager, at=on_the_day)  # either of the two may, then
    assert office.version() == 2
    assert office.version(known_at=again.number - 1) == 1
    assert coming_books(office.rules()) == ()


def test_a_newer_book_in_force_overtakes_what_was_still_to_come(office: Office) -> None:
    office.confirm(office.propose(from_day=LATER))
    office.confirm(office.propose(book=starting_book()))
    assert office.version() == 3
    assert coming_books(office.rules()) == ()
    assert [one.version for one in office.rules().dropped] == [2]


def test_two_may_be_to_come_at_the_same_time(office: Office) -> None:
    office.confirm(office.propose(from_day=LATER))
    office.confirm(office.propose(from_day=LATER + timedelta(days=5)))
    assert [one.from_day for one in coming_books(office.rules())] == [LATER, LATER + timedelta(days=5)]


def test_the_mark_of_the_workshop_moves_with_each_of_these_records(office: Office) -> None:
    for record in (proposal := office.propose(), office.confirm(proposal)):
        marked = Mark.objects.get(chain_id=office.workshop.group.chain_id, key=office.workshop.key)
        assert marked.number >= record.number


# --------------------------------------------------------------------------------------------------- who, and refusals


def test_whoever_proposed_does_not_confirm(office: Office) -> None:
    proposal = office.propose()
    with pytest.raises(Refusal, match="does not confirm it"):
        office.confirm(proposal, by=office.manager)
    assert office.version() == 1


@pytest.mark.parametrize("who", ["technician", "stranger"])
def test_only_a_manager_of_the_group_proposes_confirms_and_withdraws(office: Office, who: str) -> None:
    person = office.technician if who == "technician" else ManagerFactory()
    with pytest.raises(Refusal, match="Only a manager of the group"):
        office.propose(by=person)
    proposal = office.propose()
    with pytest.raises(Refusal, match="Only another manager of the group"):
        office.confirm(proposal, by=person)
    with pytest.raises(Refusal, match="Only a manager of the group"):
        office.withdraw(proposal, by=person)
    assert office.rules().proposed[0].record == proposal.number


def test_a_checker_is_the_second_person_only_where_the_group_has_one_manager(office: Office) -> None:
    RoleHeldFactory(person=office.technician, role=RoleHeld.Role.CHECKER)
    assert not may_confirm(office.technician, office.workshop)
    Person.objects.filter(pk=office.other.pk).update(is_active=False)
    assert may_confirm(office.technician, office.workshop)
    office.confirm(office.propose(), by=office.technician)
    assert office.version() == 2


def test_a_manager_of_another_site_of_the_group_is_a_second_person(office: Office) -> None:
    elsewhere = ManagerFactory(workshop=WorkshopFactory(group=office.workshop.group))
    office.confirm(office.propose(), by=elsewhere)
    assert office.version() == 2


@pytest.mark.parametrize(
    "day", [date(1, 1, 1), date(9999, 12, 31), TODAY - timedelta(days=1), TODAY + timedelta(days=732)]
)
def test_a_first_day_that_is_past_or_far_away_is_refused(office: Office, day: date) -> None:
    before = Record.objects.count()
    with pytest.raises(Refusal, match="cannot be its first day") as refused:
        office.propose(from_day=day)
    assert refused.value.field == "from_day"
    assert Record.objects.count() == before


def test_the_first_day_is_the_workshops_local_day(office: Office) -> None:
    late = datetime(2026, 3, 2, 23, 30, tzinfo=UTC)  # 3 March in Berlin
    with pytest.raises(Refusal, match="2026-03-02 cannot be its first day"):
        office.propose(from_day=TODAY, at=late)
    office.confirm(office.propose(from_day=TODAY + timedelta(days=1), at=late), at=late)
    assert office.version() == 2


REFUSED: list[tuple[Callable[[Office], Any], str]] = [
    (lambda o: (o.propose(), o.propose()), "Rule book 2 is proposed already"),
    (lambda o: o.propose(book=starting_book()), "Nothing in it differs"),
    (lambda o: o.propose(reason=" "), "Say in a few words why the rule book changes"),
    (lambda o: (p := o.propose(from_day=LATER), o.confirm(p), o.confirm(p)), "confirmed already"),
    (lambda o: (p := o.propose(), o.confirm(p), o.confirm(p)), "does not wait for anything"),
    (lambda o: (p := o.propose(), o.withdraw(p), o.confirm(p)), "does not wait for anything"),
    (lambda o: (p := o.propose(from_day=LATER), o.confirm(p), o.withdraw(p)), "propose a newer rule book"),
    (lambda o: o.withdraw(o.propose(), reason=""), "Say in a few words why it is withdrawn"),
]


@pytest.mark.parametrize(("act", "sentence"), REFUSED, ids=[sentence for _act, sentence in REFUSED])
def test_what_makes_no_sense_is_refused_with_a_sentence(
    office: Office, act: Callable[[Office], Any], sentence: str
) -> None:
    with pytest.raises(Refusal, match=sentence):
        act(office)


def test_a_withdrawn_proposal_makes_room_for_the_next(office: Office) -> None:
    office.withdraw(office.propose())
    assert [one.version for one in office.rules().dropped] == [2]
    assert office.propose().number
    assert office.rules().proposed[0].version == 3


# ------------------------------------------------------------------------------------- what cannot be read or is forged


def _write(office: Office, fact: Any) -> Record:
    with transaction.atomic():
        return append(fact, chain_id=office.workshop.group.chain_id, about=office.workshop.key, at=AT)


def _confirmation(office: Office, proposal: int, by: str, on: date = TODAY) -> RuleBookConfirmed:
    return RuleBookConfirmed(workshop=office.workshop.key, proposal=proposal, version=2, confirmed_on=on, by=by)


@pytest.mark.parametrize("by", ["", "proposer"])
def test_a_record_in_which_the_proposer_or_nobody_confirms_counts_for_nothing(office: Office, by: str) -> None:
    proposal = office.propose()
    _write(office, _confirmation(office, proposal.number, office.manager.key if by else ""))
    assert office.version() == 1


def test_a_confirmation_that_claims_a_day_to_come_does_not_put_it_in_force(office: Office) -> None:
    proposal = office.propose(from_day=LATER)
    for _twice in range(2):
        _write(office, _confirmation(office, proposal.number, office.other.key, on=LATER))
    assert office.version() == 1
    assert len(coming_books(office.rules())) == 1


def test_a_confirmed_book_that_no_longer_reads_clears_nobody(office: Office) -> None:
    for day, expected in ((LATER, 1), (TODAY, None)):
        fact = RuleBookProposed(
            workshop=office.workshop.key,
            version=5,
            book='{"version": 5}',
            from_day=day,
            reason="?",
            by=office.manager.key,
        )
        _write(office, _confirmation(office, _write(office, fact).number, office.other.key))
        assert office.version() == expected
    assert office.rules().in_force is not None


def test_a_coming_book_that_cannot_be_read_is_coming_all_the_same(office: Office) -> None:
    fact = RuleBookProposed(
        workshop=office.workshop.key, version=5, book="[]", from_day=LATER, reason="?", by=office.manager.key
    )
    _write(office, _confirmation(office, _write(office, fact).number, office.other.key))
    assert [(one.from_day, one.book) for one in coming_books(office.rules())] == [(LATER, None)]


def test_a_withdrawal_of_what_was_confirmed_withdraws_nothing(office: Office) -> None:
    proposal = office.propose(from_day=LATER)
    office.confirm(proposal)
    _write(
        office,
        RuleBookWithdrawn(workshop=office.workshop.key, proposal=proposal.number, version=2, reason="!", by="x"),
    )
    assert len(coming_books(office.rules())) == 1


# ------------------------------------------------------------------------------------------------------ bad rule books


def faults(office: Office, text: str) -> str:
    with pytest.raises(BadRuleBook) as bad:
        rule_book_for(office.workshop, mapping_from(text))
    return "\n".join(bad.value.faults)


def changed(path: list[Any], value: Any) -> str:
    book = starting_book()
    inside: Any = book
    for step in path[:-1]:
        inside = inside[step]
    inside[path[-1]] = value
    return json.dumps(book)


B = ["job_types", 1, "requirements"]
SAID = {"sentence": "x", "source": "y"}


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "must be fields with names"),
        ("a: [", "line 1"),
        ("a: &x 1\nb: *x", "line 2: write it out again instead of using an alias"),
        ("version: 1\nversion: 2", "line 2: the field 'version' is written twice"),
        ("- 1", "must be fields with names"),
        ("x" * 200_001, "longer than 200000 letters"),
        (changed([*B, 0], {"knows": 1, **SAID}), "2 (B), requirements 1: unknown requirement 'knows'"),
        (changed(["job_types", 1, "colour"], "red"), "job_types 2 (B): unknown field 'colour'"),
        (changed(["regime"], "US"), "regime must be 'EU' here, not 'US'"),
        (changed([*B, 2, "sign_off", "valid_months"], 100_000), "requirements 3: valid_months must be at most 120"),
        (changed(["in_use_days"], 999_999), "in_use_days is too high"),
        (changed(["job_types", 1, "at_start", "kit"], ["hammer"]), "2 (B), at_start: unknown kind of kit 'hammer'"),
        (changed([*B, 0, "holds"], "Z"), "holds 'Z', which is no job type here"),
    ],
)  # fmt: skip
def test_a_bad_rule_book_is_refused_with_the_place_of_each_fault(office: Office, text: str, fault: str) -> None:
    assert fault in faults(office, text)


def test_all_faults_are_told_at_once(office: Office) -> None:
    book = starting_book()
    book["job_types"][0]["requirements"][0] = {"knows": 1, "sentence": "x", "source": "y"}
    book["job_types"][2]["young_person"] = "never"
    assert len(faults(office, json.dumps(book)).splitlines()) == 2


def test_a_practical_task_that_the_group_does_not_have_is_refused(office: Office) -> None:
    for number in range(1, 17):
        TaskVersionFactory(group=office.workshop.group, ident=f"T{number}", title=f"Task {number}")
    assert rule_book_for(office.workshop, starting_book()).version == 1
    assert "requirements 3: unknown practical task 'T99'" in faults(office, changed([*B, 2, "sign_off", "task"], "T99"))


def test_nothing_is_written_of_a_bad_book(office: Office) -> None:
    before = Record.objects.count()
    with pytest.raises(BadRuleBook):
        office.propose(book={"version": 1})
    assert Record.objects.count() == before


@pytest.mark.parametrize(
    ("fact", "sentence"),
    [
        (
            RuleBookProposed(workshop="w", version=3, book="{}", from_day=LATER, reason="", by="m"),
            "Rule book 3 proposed for Mill, from 1 Apr 2026 on.",
        ),
        (
            RuleBookConfirmed(workshop="w", proposal=7, version=3, confirmed_on=TODAY, by="m"),
            "Rule book 3 confirmed for Mill on 2 Mar 2026.",
        ),
        (
            RuleBookWithdrawn(workshop="w", proposal=7, version=3, reason="", by="m"),
            "Rule book 3, proposed for Mill, was withdrawn.",
        ),
    ],
)
def test_the_records_are_told_in_words(fact: Any, sentence: str) -> None:
    assert SAYINGS[type(fact)](fact, {"w": "Mill"}) == sentence

"""Reading observations: what was watched and signed, and whether a mentor may observe a task."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from django.utils.translation import gettext

from training.bank.rule_books import rule_book_of
from training.core.permission.authority import Court, House, Refusal, may_observe
from training.core.permission.counting import most_demanding
from training.core.permission.evidence import Observation, PersonEvidence, SmallShop, Supervision
from training.core.permission.rule_book import RuleBook
from training.people.disputes import counting
from training.people.fresh import Judged, judge
from training.people.mentors import mentorings_of
from training.people.models import Person, Workshop
from training.people.queries import papers_with_disputes
from training.people.small_shops import small_shops_of
from training.records.queries import Written, facts_of
from training.signoff.facts import Observed
from training.signoff.labels import NO_RULE_BOOK, REFUSALS


def evidence_of_all(workshop: Workshop, *, known_at: int | None = None) -> dict[str, PersonEvidence]:
    """Papers and observations of everybody in the workshop's group, by person key, as known at a record number."""
    chain_id = workshop.group.chain_id
    keys = list(Person.objects.filter(group_id=workshop.group_id).values_list("key", flat=True))
    papers = papers_with_disputes(keys, chain_id=chain_id, known_at=known_at)
    watched = _observations(chain_id, keys, known_at)
    return {
        key: _with_observations(evidence, counting(watched.get(key, []), disputes))
        for key, (evidence, disputes) in papers.items()
    }


def house_of_workshop(workshop: Workshop) -> House | None:
    """What a mentor's authority is judged against here, with everything known now; None without a rule book."""
    book = rule_book_of(workshop)
    if book is None:
        return None
    return house_with(workshop, evidence_of_all(workshop), book, small_shops_of(workshop).counting())


def house_with(
    workshop: Workshop, people: Mapping[str, PersonEvidence], book: RuleBook, small_shops: tuple[SmallShop, ...]
) -> House:
    """A workshop's house, with evidence, rule book and small-shop exceptions as they were read."""
    return House(
        workshop=workshop.key,
        zone=workshop.zone,
        opened_on=workshop.opened_on,
        people=people,
        rule_book=book,
        small_shops=small_shops,
    )


def stand_downs_judged(person: Person, at: datetime) -> tuple[Judged, ...]:
    """Every stand-down of a person as clearances at the workshop take it; without a rule book nothing seen stands."""
    everybody = evidence_of_all(person.workshop)
    evidence, book = everybody.get(person.key), rule_book_of(person.workshop)
    if evidence is None or not evidence.stand_downs:
        return ()
    shops = small_shops_of(person.workshop).counting()
    court = Court(house_with(person.workshop, everybody, book, shops)) if book else None
    return judge(evidence, at, court.stands if court else _nothing_stands, person.workshop.zone)


def next_step(person: Person, task: str, at: datetime) -> Supervision:
    """How close a mentor stands at the next attempt: beside, until as many were made so as any job type asks."""
    house = house_of_workshop(person.workshop)
    evidence = house.people.get(person.key) if house else None
    if house is None or evidence is None:
        return Supervision.ALONE
    made = len(Court(house).made_beside(evidence, task, at=at))
    return Supervision.BESIDE if made < most_demanding(house.rule_book, task).beside_first else Supervision.ALONE


def refusals_to_observe(person: Person, *, mentor: Person, task: str, at: datetime) -> tuple[str, ...]:
    """Why this mentor may not observe this person at this task now, in sentences; empty when they may."""
    house = house_of_workshop(person.workshop)
    if house is None:
        return (str(NO_RULE_BOOK),)
    refusals = may_observe(mentor.key, person.key, task, at, house)
    lacks = _lacks(mentor, person.workshop, task, at) if Refusal.NO_SIGN_OFF in refusals else ()
    return (*(str(REFUSALS[refusal]) for refusal in refusals), *lacks)


def _lacks(mentor: Person, workshop: Workshop, task: str, at: datetime) -> tuple[str, ...]:
    """What the mentor's appointment lacks for an outside certificate to stand in for a sign-off."""
    return tuple(
        gettext("Missing: %(what)s") % {"what": lack}
        for one in mentorings_of([mentor], at=at)
        if one.workshop.pk == workshop.pk and task in one.appointment.tasks
        for lack in one.lacks
    )


def _nothing_stands(_person: str, _observation: Observation) -> bool:
    return False


def _observations(chain_id: int, keys: Iterable[str], known_at: int | None) -> dict[str, list[Written[Observed]]]:
    found: dict[str, list[Written[Observed]]] = {}
    for row in facts_of([Observed], chain_id=chain_id, about=keys, known_at=known_at):
        found.setdefault(row.about, []).append(row)
    return found


def _with_observations(papers: PersonEvidence, rows: list[Written[Observed]]) -> PersonEvidence:
    unreadable = papers.unreadable + tuple(row.number for row in rows if not _is_readable(row))
    observations = tuple(_observation(row) for row in rows if _is_readable(row))
    return replace(papers, observations=observations, unreadable=unreadable)


def _is_readable(row: Written[Observed]) -> bool:
    return row.fact is not None and row.fact.supervision in set(Supervision)


def _observation(row: Written[Observed]) -> Observation:
    assert row.fact is not None
    return Observation(
        record=row.number,
        happened_at=row.happened_at,
        task=row.fact.task,
        task_version=row.fact.version,
        observer=row.fact.by,
        passed=row.fact.passed,
        workshop=row.fact.workshop,
        supervision=Supervision(row.fact.supervision),
    )

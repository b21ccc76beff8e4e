"""What a rule book has to be for one workshop, read from a file or a form; and who may confirm one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from typing import Any

from django.utils.translation import gettext as _

from training.bank.files import plain_from
from training.bank.queries import newest_tasks
from training.core.permission.reading import BadRuleBook, rule_book_from
from training.core.permission.rule_book import JobType, RuleBook, SignOffOf
from training.core.trade.fitness import KINDS
from training.people.models import Person, RoleHeld, Workshop
from training.people.queries import is_manager, roles_of

MOST = {"months": 120, "days": 3660, "observations": 20, "mentors": 5, "beside_first": 10}  # beyond that it is a slip
LONGEST_TEXT = 200_000


def mapping_from(text: str) -> Mapping[str, Any]:
    """The fields of a rule book written as YAML or JSON. Raises ``BadRuleBook`` with the line that cannot be read."""
    if len(text) > LONGEST_TEXT:
        raise BadRuleBook((_("rule book: longer than %(n)d letters") % {"n": LONGEST_TEXT},))
    try:
        plain = plain_from(text)
    except ValueError as problem:
        raise BadRuleBook((str(problem),)) from problem
    if not isinstance(plain, Mapping):
        raise BadRuleBook((_("rule book: must be fields with names, such as version: and job_types:"),))
    return plain


def rule_book_for(workshop: Workshop, plain: Mapping[str, Any]) -> RuleBook:
    """The rule book that these fields make for a workshop. Raises ``BadRuleBook`` with every fault and its place."""
    book = rule_book_from({**plain, "version": 1})
    faults = [*_misfits(workshop, book), *_slips(book)]
    if faults:
        raise BadRuleBook(tuple(faults))
    return book


def may_confirm(person: Person, workshop: Workshop) -> bool:
    """Whether the person may be the second one for a rule book of this workshop.

    Any manager of its group; where the group has only one, a checker, whose work is the second pair of eyes.
    """
    if person.group_id != workshop.group_id or not person.is_active:
        return False
    return is_manager(person) or (RoleHeld.Role.CHECKER in roles_of(person) and _managers(workshop) < 2)


def _managers(workshop: Workshop) -> int:
    held = RoleHeld.objects.filter(role=RoleHeld.Role.MANAGER, person__is_active=True)
    return held.filter(person__group_id=workshop.group_id).count()


def _misfits(workshop: Workshop, book: RuleBook) -> Iterator[str]:
    """What the workshop does not have: another regime, practical tasks or kinds of kit that nobody knows here."""
    if book.regime != workshop.regime:
        yield f"rule book: regime must be {str(workshop.regime)!r} here, not {book.regime!r}"
    tasks = newest_tasks(workshop.group_id)
    for place, job_type in _places(book):
        for number, task in enumerate(_tasks(job_type), 1):
            if tasks and task and task not in tasks:
                yield f"{place}, requirements {number}: unknown practical task {task!r}"
        for kind in job_type.at_start.kit_kinds:
            if kind not in KINDS:
                yield f"{place}, at_start: unknown kind of kit {kind!r}"


def _tasks(job_type: JobType) -> list[str]:
    return [one.task if isinstance(one, SignOffOf) else "" for one in job_type.requirements]


def _slips(book: RuleBook) -> Iterator[str]:
    """Figures so high that they are a slip of the finger; ends that far away are no days any more."""
    for place, job_type in _places(book):
        for number, requirement in enumerate(job_type.requirements, 1):
            for name, value in asdict(requirement).items():
                most = next((limit for word, limit in MOST.items() if word in name), None)
                if most is not None and isinstance(value, int) and value > most:
                    yield f"{place}, requirements {number}: {name} must be at most {most}, not {value}"
    for name in ("in_use_days", "bootstrap_months"):
        if getattr(book, name) > MOST["days" if name == "in_use_days" else "months"]:
            yield f"rule book: {name} is too high, {getattr(book, name)}"


def _places(book: RuleBook) -> Iterator[tuple[str, JobType]]:
    for number, job_type in enumerate(book.job_types, 1):
        yield f"rule book, job_types {number} ({job_type.key})", job_type

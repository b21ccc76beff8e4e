"""Standing somebody down, and releasing them: anybody may do the one, few the other, and nothing ends it by itself."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from training.people import checks, facts
from training.people.causes import Cause, needs_words
from training.people.fresh import Judged, judged
from training.people.models import Person
from training.people.queries import was_ever_mentor
from training.people.refusal import Refusal
from training.people.writing import lock, write
from training.records.models import Record

# what is kept of a medical stand-down and of its release instead of any reason
NOT_FIT = "not fit until released"
FIT_AGAIN = "fit again"


@transaction.atomic
def stand_down(
    *,
    person: Person,
    job_types: Iterable[str] | None,
    reason: str,
    by: Person,
    at: datetime,
    medical: bool = False,
    happened_at: datetime | None = None,
    incident: bool = False,
    job_given_by: Person | None = None,
    cause: str = "",
) -> Record:
    """Withdraw a person's clearance at once: anyone of the group may, about anyone, also about themselves.

    ``job_types`` None means everything. ``cause`` is one of ``Cause``; "" where only words are given. Of a medical one
    no reason is kept, whatever was given. After an ``incident`` two people have to release it; ``job_given_by`` gave
    the job on which it happened, and never releases it.
    """
    checks.same_group(person, by)
    if job_given_by is not None:
        checks.same_group(person, job_given_by)
    if cause and cause not in set(Cause):
        raise Refusal(_("Choose one of the causes on the list."), "cause")
    medical = medical or cause == Cause.MEDICAL
    fact = facts.StoodDown(
        job_types=None if job_types is None else checks.named(job_types, "job_types"),
        reason=_reason_kept(reason, cause, medical),
        medical=medical,
        by=by.key,
        incident=incident or cause == Cause.INCIDENT,
        job_given_by=job_given_by.key if job_given_by else "",
        cause=Cause.MEDICAL.value if medical else str(cause),
    )
    return write(fact, person, at, happened_at=happened_at, signs_for_others=was_ever_mentor(person))


@transaction.atomic
def release(*, person: Person, record: int, reason: str, by: Person, at: datetime) -> Record:
    """One manager's word that the stand-down which ``record`` numbers may end, on all that was seen since.

    Never about themselves, never by whoever gave the job, and once each; after an incident two people have to. One
    whose release fell, because what it stood on does not stand, may release again. Of a medical one no reason is kept.
    """
    checks.entered_by_manager(person, by)
    lock(person)
    found = _found(person, record, at)
    reason = _reason_of_release(found, reason, by)
    if not found.evidence:
        sentence = _("Nothing was seen of %(name)s since then. A mentor observes a task, made alone, first.")
        raise Refusal(sentence % {"name": person.full_name})
    fact = facts.Released(record=record, reason=reason, by=by.key, evidence=list(found.evidence))
    return write(fact, person, at, signs_for_others=was_ever_mentor(person))


def _reason_kept(reason: str, cause: str, medical: bool) -> str:
    if medical:
        return NOT_FIT
    if reason.strip() or needs_words(cause, medical=medical):
        return checks.worded(reason)
    return ""


def _found(person: Person, record: int, at: datetime) -> Judged:
    for found in judged(person, at):
        if found.stand_down.record == record:
            return found
    raise Refusal(_("There is no such stand-down of %(name)s.") % {"name": person.full_name})


def _reason_of_release(found: Judged, reason: str, by: Person) -> str:
    """The reason, once it is clear that this manager may release it and it is not released yet."""
    if by.key == found.stand_down.job_given_by:
        raise Refusal(_("You gave the job on which it happened. Another manager has to release it."))
    mine = [one.record for one in found.counted if one.by == by.key]
    if not found.still_needed or mine:
        numbers = mine or [one.record for one in found.counted]
        sentence = _("This stand-down was released already, by record %(number)d.")
        raise Refusal(sentence % {"number": numbers[-1]})
    return FIT_AGAIN if found.stand_down.medical else checks.worded(reason)

"""What a person disputes, said beside what is missing of them: it counts for nothing until that is decided."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.board.facts import TaskDone
from training.board.labels import Voice, day_words
from training.board.queries import Reading, history_in
from training.core.permission.decision import Decision, Gap, Ground
from training.drill.facts import Answered, TalkedThrough
from training.people import facts
from training.people.disputes import stance_of
from training.people.models import Person
from training.records.facts import Fact
from training.records.queries import Written, numbered
from training.signoff.facts import Observed

RECALL = frozenset({Ground.RECALL_LIFE_QUESTIONS, Ground.RECALL_TOPIC, Ground.UNSAFE_ANSWER})
PRACTICE = frozenset({Ground.SIGN_OFF, Ground.NOT_DONE_LATELY})
Paper = facts.Appointed | facts.CertificateSeen | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Disputed:
    """A record that counts for nothing while it is disputed; ``of`` is the paper that it adds to, if any."""

    record: Written[Fact]
    of: Paper = None


def disputed_now(reading: Reading, person: Person) -> list[Disputed]:
    """The records of a person that count for nothing since they dispute them, as far as was read, oldest first."""
    chain_id = person.group.chain_id
    open_now = {one.of_record for one in history_in(reading, person).disputes if one.stands is None}
    found = numbered(open_now, chain_id=chain_id)
    for_them = [row for row in found if (stance := stance_of(row.fact)) and not stance.against(row.fact)]
    papers = {row.number: row.fact for row in numbered(_added_to(for_them), chain_id=chain_id)}
    return [Disputed(record=row, of=_paper(papers.get(getattr(row.fact, "record", 0)))) for row in for_them]


def disputed_beside(decision: Decision, disputed: Sequence[Disputed], voice: Voice) -> list[tuple[str, ...]]:
    """Per gap of a decision, what would prove it and is disputed, in words."""
    return [tuple(_said(one, voice) for one in disputed if _would_prove(one, gap)) for gap in decision.gaps]


def _added_to(rows: list[Written[Fact]]) -> list[int]:
    added = (facts.CertificateVerified, facts.Confirmed)
    return [row.fact.record for row in rows if isinstance(row.fact, added)]


def _paper(fact: Fact | None) -> Paper:
    return fact if isinstance(fact, facts.Appointed | facts.CertificateSeen) else None


def _would_prove(one: Disputed, gap: Gap) -> bool:
    fact = one.of or one.record.fact
    proves = PROVES.get(type(fact)) if fact else None
    return proves is not None and proves(fact, gap)


def _said(one: Disputed, voice: Voice) -> str:
    """Which record it is, of when and by whom; never what an answer was."""
    row = one.record
    told = {
        "what": KINDS.get(row.kind, gettext_lazy("Record")),
        "day": day_words(voice.day_of(row.happened_at), voice),
        "name": voice.names.get(getattr(row.fact, "by", ""), ""),
    }
    by = _("%(what)s of %(day)s by %(name)s") if told["name"] else _("%(what)s of %(day)s")
    which = by % told
    said = _("%(which)s is disputed (record %(number)d). It counts for nothing until that is decided.")
    return said % {"which": which, "number": row.number}


PROVES: Mapping[type[Fact], Callable[[Any, Gap], bool]] = {
    Observed: lambda fact, gap: gap.ground in PRACTICE and gap.subject == fact.task,
    TaskDone: lambda fact, gap: gap.ground is Ground.NOT_DONE_LATELY and gap.subject == fact.task,
    Answered: lambda fact, gap: gap.ground in RECALL and gap.subject == fact.topic,
    TalkedThrough: lambda fact, gap: gap.ground is Ground.UNSAFE_ANSWER and fact.answer in gap.records,
    facts.Appointed: lambda fact, gap: gap.ground is Ground.APPOINTMENT and gap.subject in fact.job_types,
    facts.CertificateSeen: lambda fact, gap: gap.ground is Ground.CERTIFICATE and gap.subject == fact.certificate,
    facts.Instructed: lambda _fact, gap: gap.ground is Ground.INSTRUCTION,
    facts.AgeEntered: lambda _fact, gap: gap.ground is Ground.AGE_UNKNOWN,
    facts.Released: lambda fact, gap: gap.ground is Ground.STOOD_DOWN and fact.record in gap.records,
}
KINDS: Mapping[str, str | Promise] = {
    Observed.kind: gettext_lazy("Observation"),
    TaskDone.kind: gettext_lazy("Task done on a job"),
    Answered.kind: gettext_lazy("An answer"),
    TalkedThrough.kind: gettext_lazy("Talk-through"),
    facts.Appointed.kind: gettext_lazy("Appointment"),
    facts.Confirmed.kind: gettext_lazy("Putting into force"),
    facts.CertificateSeen.kind: gettext_lazy("Certificate"),
    facts.CertificateVerified.kind: gettext_lazy("Check with the issuer"),
    facts.Instructed.kind: gettext_lazy("Instruction"),
    facts.AgeEntered.kind: gettext_lazy("Entry of the age"),
    facts.Released.kind: gettext_lazy("Release"),
}

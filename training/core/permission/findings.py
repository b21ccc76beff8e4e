"""What one requirement comes to: records and an end where it holds, gaps where it does not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from training.core.permission.authority import Court
from training.core.permission.decision import Ending, Gap, Ground, Remedy, RemedyKind
from training.core.permission.evidence import Evidence, QuestionGate
from training.core.permission.rule_book import RuleBook


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One requirement, judged. It holds where there are no gaps; ``endings`` say until when.

    ``practice`` marks the task's own sign-off and currency, which supervised work does without.
    """

    endings: tuple[Ending, ...] = ()
    records: tuple[int, ...] = ()
    gaps: tuple[Gap, ...] = ()
    practice: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One question to ``decide``, with what every requirement needs. ``under_18`` None: not on record.

    ``questions`` are those accepted for the workshop, each once, by day of acceptance and then id.

    ``remembered``, ``plans``, ``lows`` (by instant, then question) and ``counting`` hold findings, drill plans, recall
    lows and the questions that count, which several job types or stages share; they change no answer.
    """

    evidence: Evidence
    rule_book: RuleBook
    at: datetime
    today: date
    under_18: bool | None
    court: Court
    questions: tuple[QuestionGate, ...] = ()
    remembered: dict[object, tuple[Finding, ...]] = field(default_factory=dict)
    plans: dict[object, tuple[int, ...] | None] = field(default_factory=dict)
    lows: dict[datetime, dict[str, float]] = field(default_factory=dict)
    counting: dict[object, Mapping[str, date]] = field(default_factory=dict)

    @property
    def person(self) -> str:
        """The key of whom it is about."""
        return self.evidence.of.person

    @property
    def zone(self) -> str:
        """The zone whose days count: the workshop's, never the viewer's."""
        return self.evidence.zone

    def day(self, days_from_now: int) -> date:
        """The local day that many days from the one asked about."""
        return date.fromordinal(self.today.toordinal() + days_from_now)


def missing(gap: Gap, *, practice: bool = False) -> Finding:
    """A finding that is one gap."""
    return Finding(gaps=(gap,), practice=practice)


def unreadable(subject: str, why: str, records: tuple[int, ...] = ()) -> Gap:
    """The gap of something that cannot be read or made sense of: it blocks until it is repaired."""
    return Gap(
        ground=Ground.RECORD_UNREADABLE,
        subject=subject,
        sentence="Every record of the person can be read.",
        source="Hookside: missing or unreadable counts as not cleared",
        remedy=Remedy(kind=RemedyKind.REPAIR, minutes=0, earliest_on=None),
        records=records,
        facts=(("why", why),),
    )

"""Running jobs for whoever has to know of them: what to do where one has to stop, and who has read it."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from training.bank.rule_books import rule_book_of
from training.board.facts import StopRead
from training.board.labels import Voice, moment_words
from training.board.voices import voice_of
from training.board.work.jobs import JobRead
from training.board.work.lines import JobLine, line_of
from training.board.work.now import Now, running_at, running_for
from training.board.work.words import STOP_WORDS, reasons_words
from training.core.trade.reasons import Reason
from training.people.models import Person, Workshop


@dataclass(frozen=True, slots=True, kw_only=True)
class OnJob:
    """A running job; ``reasons`` say why its work has to stop, ``do`` what to do then, ``read`` when it was read."""

    site: Workshop
    line: JobLine
    do: str = ""
    reasons: tuple[str, ...] = ()
    read: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stops:
    """What stands at the top of somebody's pages. ``watches``: their pages look for a stop while they are open, as a
    manager's always do.

    ``besides`` is the job whose own page it is: that page says it itself.
    """

    stopped: tuple[OnJob, ...] = ()
    going: tuple[OnJob, ...] = ()
    watches: bool = False
    besides: str = ""

    @property
    def mark(self) -> str:
        """Stands for what is shown, so that an open page is told only of what is new."""
        told = [(one.line.key, one.reasons, one.read) for one in self.stopped]
        return hashlib.sha256(repr(told).encode()).hexdigest()[:16]


def stops_for(person: Person, *, at: datetime, besides: str = "") -> Stops:
    """The running jobs that a person has to know of; ``besides`` is left out, since its own page says it."""
    found = [one for one in running_for(person, at=at) if one.job.key != besides]
    voices = {site: voice_of(site, rule_book_of(site), now=at) for site in {one.workshop for one in found}}
    shown = [(one, _on_job(one, voices[one.workshop], person.key)) for one in found]
    return Stops(
        stopped=tuple(line for one, line in shown if one.ended),
        going=tuple(line for one, line in shown if not one.ended),
        watches=bool(found or besides),
        besides=besides,
    )


def stopped_at(workshop: Workshop, *, at: datetime, besides: Collection[str] = ()) -> Stops:
    """The jobs of a workshop whose work has to stop, for everybody: which and where, never why."""
    found = [one for one in running_at(workshop, at=at) if one.ended and one.job.key not in besides]
    voice = voice_of(workshop, rule_book_of(workshop), now=at) if found else None
    lines = [OnJob(site=workshop, line=line_of(one.job, voice)) for one in found if voice]
    return Stops(stopped=tuple(lines), watches=True)


def readers_of(job: JobRead, ended: Iterable[Reason]) -> dict[str, datetime]:
    """Who has read every reason that stands now, since the last start of work, and when first."""
    standing, since = {reason.sentence for reason in ended}, job.start.number if job.start else 0
    found: dict[str, datetime] = {}
    for row in job.written:
        if isinstance(row.fact, StopRead) and row.number > since and standing <= set(row.fact.reasons):
            found.setdefault(row.fact.by, row.happened_at)
    return found


def _on_job(now: Now, voice: Voice, reader: str) -> OnJob:
    read_at = readers_of(now.job, now.ended).get(reader) if now.ended else None
    return OnJob(
        site=now.workshop,
        line=line_of(now.job, voice),
        do=str(STOP_WORDS),
        reasons=tuple(reasons_words(now.ended, voice)),
        read=moment_words(read_at, voice) if read_at else "",
    )

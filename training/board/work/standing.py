"""Where a job stands, in words: one headline, why nobody works on, the readings, and everything that was written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from training.board import facts
from training.board.labels import Voice, moment_words
from training.board.work.jobs import JobRead
from training.board.work.now import ended_of
from training.board.work.said import said_of
from training.board.work.stopped import readers_of
from training.board.work.words import STOP_WORDS, reasons_words
from training.core.permission.proving import Proving, not_dead, not_read
from training.core.permission.running import Measured, Running
from training.core.permission.running_rules import holds_up
from training.core.trade.reasons import Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """One word on where it stands, what follows, and every reason. ``tone`` repeats the word: stop, warn, aside.

    ``read`` are those who have said that they know of a stop; ``anew``: only a new start of work goes on.
    """

    word: str
    then: str
    reasons: tuple[str, ...] = ()
    tone: str = ""
    read: tuple[str, ...] = ()
    anew: bool = False


def headline(job: JobRead, voice: Voice, fallen: Sequence[Reason]) -> Headline:
    """Where the job stands now; a stop stands above everything else."""
    state, now = job.state, voice.now
    if state.over is not None:
        word = _("Closed") if state.over.closed else _("Called off")
        return Headline(word=word, then=state.over.says, tone="aside")
    ended = ended_of(job, now, fallen)
    if ended:
        reasons, read = tuple(reasons_words(ended, voice)), tuple(readers_of(job, ended))
        return Headline(word=_("Stop work"), then=str(STOP_WORDS), reasons=reasons, tone="stop", read=read, anew=True)
    if job.is_waiting:
        return Headline(word=_("Planned"), then=_("Nothing begins before the start of work says yes."))
    held = tuple(reasons_words(holds_up(state, now), voice)) if not state.energised else ()
    if held:
        then = _("Nobody works on. Lock, label and cordon stay.")
        return Headline(word=_("Work rests"), then=then, reasons=held, tone="warn")
    return _going(job, voice)


def _going(job: JobRead, voice: Voice) -> Headline:
    state = job.state
    late = state.start is not None and state.start.planned_end <= voice.now
    reasons = (_("The planned end is past: close the job, or start anew."),) if late else ()
    word, then = _phase(state)
    return Headline(word=word, then=then, reasons=reasons, tone="warn" if late or state.asks_proof else "", anew=late)


def _phase(state: Running) -> tuple[str, str]:
    if state.energised:
        return _("Re-energised"), _("It is live again. Label off last, then hand it back.")
    proving = state.start.proving if state.start else Proving.DEAD
    if state.asks_proof and proving is Proving.READINGS:
        return _("Take the readings first"), _("Every pair, before anything else. Treat everything as live.")
    if state.asks_proof and state.had_proof:
        return _("Prove dead again"), _("Before anything else. Until then treat everything as live.")
    if state.asks_proof:
        return _("Not yet proved dead"), _(
            "Own lock on, wait the maker's time, measure every pair. Until then it is live."
        )
    if proving is Proving.READINGS:
        return _("Under way, under voltage"), _("Work goes on by the live-work order only.")
    if proving is Proving.DEAD:
        return _("Under way"), _("The readings hold at these points at their time. Pack and plug socket stay live.")
    return _("Under way"), _("Anything unexpected: stop, back off, tell.")


# ---------------------------------------------------------------- readings
def readings_of(job: JobRead, voice: Voice) -> dict[str, Any] | None:
    """The newest round of readings, as numbers; None before there is one."""
    rows = [row for row in job.written if isinstance(row.fact, facts.PointsMeasured)]
    if not rows or not isinstance(rows[-1].fact, facts.PointsMeasured):
        return None
    fact = rows[-1].fact
    proof = job.state.proof
    return {
        "number": rows[-1].number,
        "at": moment_words(rows[-1].happened_at, voice),
        "by": voice.names.get(fact.by, "?"),
        "instrument": fact.instrument,
        "pairs": [
            (f"{pair.first} – {pair.second}", pair.current, pair.side, volts(pair.read_v)) for pair in fact.pairs
        ],
        "testers": [
            (one.current, volts(one.source_v), volts(one.before_v), volts(one.after_v)) for one in fact.testers
        ],
        "holds": proof is not None and proof.record == rows[-1].number and _is_isolated_now(job.state),
        "why_not": reasons_words(_why_not(job, rows[-1].number), voice),
    }


def _is_isolated_now(state: Running) -> bool:
    """Readings are worth nothing any more once the disconnect is closed, or the job is over."""
    return not state.energised and state.over is None


def _why_not(job: JobRead, number: int) -> tuple[Reason, ...]:
    """Why the newest round proves nothing by itself."""
    event = next((one for one in job.events if isinstance(one, Measured) and one.record == number), None)
    start = job.state.start
    if event is None or start is None:
        return ()
    judge = not_read if start.proving is Proving.READINGS else not_dead
    return judge(event.readings, start.points)


def volts(text: str) -> str:
    """A reading as people write it; a dash where nothing was typed."""
    return f"{float(text):g} V" if text else "–"


# ---------------------------------------------------------------- what was written
def log_of(job: JobRead, voice: Voice) -> list[dict[str, str]]:
    """Everything written about a job, newest first."""
    return [
        {
            "number": str(row.number),
            "at": moment_words(row.happened_at, voice),
            "by": voice.names.get(getattr(row.fact, "by", ""), "?"),
            "says": said_of(row.fact, voice.names),
        }
        for row in reversed(job.written)
    ]

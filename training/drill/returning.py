"""When an answered question comes back: by its outcome, as the core's honesty prices it, and else by recall."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from training.core.memory.due import due_at
from training.core.memory.fold import Trace
from training.core.memory.gates import is_first_of_session
from training.core.memory.honesty import NEXT_SESSION_DAYS, WEEK_LATER_DAYS, After, days_until_back
from training.core.memory.pace import typical_seconds
from training.core.memory.posterior import PersonMoments
from training.core.memory.steps import days_between
from training.core.permission.evidence import UnsafeAnswer
from training.core.questions.kinds import Consequence, Outcome
from training.drill.facts import Answered
from training.drill.queries import History
from training.records.queries import Written

FIRST_RETURN = timedelta(days=NEXT_SESSION_DAYS)  # an answer counts only when more than half a day has passed
SECOND_RETURN = timedelta(days=WEEK_LATER_DAYS)
FEWEST_OF_ONE = 3  # answers to one question from which its own seconds are known


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """A question that comes back since it was answered unsafe; ``until_right``: again until it is answered right."""

    at: datetime
    until_right: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Back:
    """From when a question is asked again, and after which outcome; None: sound, so by recall alone."""

    at: datetime
    after: After | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LastSession:
    """What the last session in which a question was answered left, and the seconds it takes; None: not known yet."""

    after: After | None
    seconds: float | None


NO_SESSION = LastSession(after=None, seconds=None)


class Returning:
    """What one person's answers on record say of when each question comes back."""

    def __init__(self, history: History) -> None:
        self.unsafe = returns_of(history.unsafe(), _right_since(history))
        self._sessions = last_sessions(history.answers)
        self._parameters = history.parameter_set.parameters

    def seconds(self, ident: str) -> float | None:
        """What this question takes this person; None before three answers to it."""
        return self._sessions.get(ident, NO_SESSION).seconds

    def by_outcome(self, ident: str, trace: Trace, who: PersonMoments, floor: float) -> Back | None:
        """From when a question is asked again for its last outcome; None where recall alone decides."""
        unsafe, last = self.unsafe.get(ident), self._sessions.get(ident, NO_SESSION)
        if unsafe and (unsafe.until_right or trace.last_at < unsafe.at):
            return Back(at=unsafe.at, after=After.UNSAFE)
        if last.after is None:
            return None
        held_days = self._held_days(trace, who, floor) if last.after is After.CAREFUL else 0.0
        return Back(at=_later(trace, days_until_back(last.after, held_days)), after=last.after)

    def back(self, ident: str, trace: Trace, who: PersonMoments, floor: float) -> Back:
        """From when an answered question is asked again, by its outcome or by recall."""
        by_recall = Back(at=_later(trace, days_until_back(None, self._held_days(trace, who, floor))), after=None)
        return self.by_outcome(ident, trace, who, floor) or by_recall

    def _held_days(self, trace: Trace, who: PersonMoments, floor: float) -> float:
        return days_between(trace.last_at, due_at(trace, who, floor, self._parameters))


def returns_of(unsafe: Sequence[UnsafeAnswer], right_since: Mapping[int, datetime] | None = None) -> dict[str, Return]:
    """When each question with an unsafe answer comes back.

    Next day while a right answer is still wanted; once closed, again about a week later. In between, when only the
    talk-through is wanted, asking would show nothing new. A talk-through is not waited for where the consequence is
    injury or damage: there the week runs from the right answer, which ``right_since`` gives by the opening's record.
    """
    by_question: dict[str, list[UnsafeAnswer]] = defaultdict(list)
    for answer in unsafe:
        by_question[answer.question].append(answer)
    found = {question: _return_of(openings, right_since or {}) for question, openings in by_question.items()}
    return {question: back for question, back in found.items() if back}


def last_sessions(answers: Iterable[Written[Answered]]) -> dict[str, LastSession]:
    """What the last session of each question left. A right answer too fast to have been read leaves nothing."""
    by_question: dict[str, list[Written[Answered]]] = defaultdict(list)
    for row in sorted(answers, key=lambda row: (row.happened_at, row.number)):
        if row.fact and not (row.fact.right and row.fact.too_fast):
            by_question[row.fact.question].append(row)
    return {question: _last_session(rows) for question, rows in by_question.items()}


def _later(trace: Trace, days: float) -> datetime:
    return trace.last_at + timedelta(days=days)


def _last_session(rows: Sequence[Written[Answered]]) -> LastSession:
    start = len(rows) - 1
    while start and not is_first_of_session(rows[start - 1].happened_at, rows[start].happened_at):
        start -= 1
    taken = [row.fact.milliseconds / 1000 for row in rows if row.fact and not row.fact.too_fast]
    return LastSession(
        after=_after([row.fact for row in rows[start:] if row.fact]),
        seconds=typical_seconds(taken) if len(taken) >= FEWEST_OF_ONE else None,
    )


def _after(session: Sequence[Answered]) -> After | None:
    """Wrong at any time in the session comes back next day; else its first answer decides."""
    if not all(fact.right for fact in session):
        return After.HELD_BACK
    return After.CAREFUL if session[0].outcome == Outcome.CAREFUL else None


def _right_since(history: History) -> dict[int, datetime]:
    """For each unsafe answer, the first right one more than half a day after it."""
    right: dict[str, list[datetime]] = defaultdict(list)
    for row in history.answers:
        if row.fact and row.fact.right and not row.fact.too_fast:
            right[row.fact.question].append(row.happened_at)
    found = {}
    for unsafe in history.unsafe():
        # an instant before the unsafe answer is less than half a day after it
        counting = [at for at in right[unsafe.question] if is_first_of_session(unsafe.happened_at, at)]
        if counting:
            found[unsafe.record] = min(counting)
    return found


def _return_of(openings: Sequence[UnsafeAnswer], right_since: Mapping[int, datetime]) -> Return | None:
    wanting = [answer.happened_at for answer in openings if answer.closed_at is None and not answer.right_since]
    if wanting:
        return Return(at=max(wanting) + FIRST_RETURN, until_right=True)
    settled = [_settled_at(answer, right_since) for answer in openings]
    known = [at for at in settled if at is not None]
    return Return(at=max(known) + SECOND_RETURN, until_right=False) if len(known) == len(openings) else None


def _settled_at(answer: UnsafeAnswer, right_since: Mapping[int, datetime]) -> datetime | None:
    if answer.consequence is Consequence.LIFE:
        return answer.closed_at
    return right_since.get(answer.record, answer.closed_at)

"""Reading drills: answers on record, recall from the cache or folded anew, unsafe answers that are still open."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from statistics import median
from typing import TypeVar

from training.core.memory.fold import Answered as MemoryAnswer
from training.core.memory.fold import PersonRecall, fold
from training.core.memory.lower import lower_of
from training.core.memory.pace import is_time_up
from training.core.permission.evidence import UnsafeAnswer
from training.core.permission.unsafe import GivenAnswer, TalkThrough, close_unsafe
from training.core.questions.kinds import Consequence, Outcome, Topic
from training.drill.disputed import MOVES_RECALL, as_given, counted_answers, seen_and_counted
from training.drill.facts import Answered, TalkedThrough
from training.drill.kept import Wanted, kept_recalls
from training.drill.models import Drill, Turn
from training.drill.parameters import SHIPPED, ParameterSet, parameters_of
from training.people.disputes import SHAPES, Dispute, counting, disputes_in
from training.people.models import Person
from training.records.facts import Fact
from training.records.models import Record
from training.records.queries import Written, facts_of

F = TypeVar("F", bound=Fact)
PPM = 1_000_000
USUAL_SECONDS = 35.0
FEWEST_FOR_MEDIAN = 10
PUT_AWAY_SECONDS = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """One person's answers and talk-throughs as written; ``unreadable`` names records that could not be read.

    ``parameter_set`` is the one in force as known then; recall is folded with it. ``discounted`` are right answers that
    are disputed: they count for nothing. ``newest`` is the record that moved recall last. ``disputes`` are the
    person's, of records of every kind.
    """

    answers: tuple[Written[Answered], ...]
    talks: tuple[Written[TalkedThrough], ...]
    unreadable: tuple[int, ...]
    parameter_set: ParameterSet = SHIPPED
    discounted: tuple[int, ...] = ()
    newest: int = 0
    disputes: tuple[Dispute, ...] = ()

    def until(self, at: datetime) -> History:
        """Only what had happened by then."""
        return replace(
            self,
            answers=tuple(row for row in self.answers if row.happened_at <= at),
            talks=tuple(row for row in self.talks if row.happened_at <= at),
        )

    def unsafe(self) -> tuple[UnsafeAnswer, ...]:
        """Every unsafe answer with what has happened to it since."""
        return close_unsafe(map(_given, self.answers), map(_talk, self.talks))

    def recall(self) -> PersonRecall:
        """The fold of all these answers: the slow way, and the one that decides when in doubt.

        Where some are disputed, the lower of the folds without them and with them: a dispute raises nothing.
        """
        counted = seen_and_counted(self.answers, self.discounted)
        without = self._folded(counted)
        return lower_of(without, self._folded(as_given(counted, self.discounted))) if self.discounted else without

    def _folded(self, rows: Iterable[Written[Answered]]) -> PersonRecall:
        using = self.parameter_set
        return fold((as_memory_answer(row, using) for row in rows), using.parameters)

    def seconds(self) -> float:
        """This person's median seconds per question, the usual one until there are ten answers."""
        taken = [row.fact.milliseconds / 1000 for row in self.answers if row.fact and not row.fact.too_fast]
        return float(median(taken[-50:])) if len(taken) >= FEWEST_FOR_MEDIAN else USUAL_SECONDS


def history_of(person: Person, *, known_at: int | None = None) -> History:
    """Everything that one person answered and talked through, as known at a record number."""
    return histories_of([person.key], chain_id=person.group.chain_id, known_at=known_at)[person.key]


def histories_of(keys: Iterable[str], *, chain_id: int, known_at: int | None = None) -> dict[str, History]:
    """The histories of several people, read at once.

    A parameter set in force that cannot be read is among what is unreadable of everybody.
    """
    wanted, using = list(keys), parameters_of(chain_id, known_at)
    shapes: tuple[type[Fact], ...] = (Answered, TalkedThrough, *SHAPES)
    rows: dict[str, list[Written[Fact]]] = {key: [] for key in wanted}
    for row in facts_of(shapes, chain_id=chain_id, about=wanted, known_at=known_at):
        rows[row.about].append(row)
    return {key: _history(key, rows[key], using) for key in wanted}


def _history(key: str, rows: Sequence[Written[Fact]], using: ParameterSet) -> History:
    """The history of one person, with what counts of it beside their disputes."""
    disputes = disputes_in(key, rows)
    answers, discounted = counted_answers(_of(Answered, rows), disputes)
    return History(
        answers=tuple(answers),
        talks=tuple(counting(_of(TalkedThrough, rows), disputes)),
        unreadable=(*(row.number for row in rows if row.fact is None), *using.unreadable),
        parameter_set=using,
        discounted=discounted,
        newest=max((row.number for row in rows if row.kind in MOVES_RECALL), default=0),
        disputes=disputes,
    )


def _of(shape: type[F], rows: Iterable[Written[Fact]]) -> list[Written[F]]:
    return [row for row in rows if isinstance(row.fact, shape)]  # type: ignore[misc]


def recall_of(person: Person, *, before: int | None = None) -> PersonRecall:
    """Recall as it stands now: from the cache when it holds every answer, else folded from the records.

    ``before`` leaves out the answer with that record number and any later one.
    """
    known_at = None if before is None else before - 1
    number = parameters_of(person.group.chain_id, known_at).number
    kept = kept_recall(person, newest=newest_answer(person, known_at), parameter_set=number)
    return history_of(person, known_at=known_at).recall() if kept is None else kept


def kept_recall(person: Person, *, newest: int, parameter_set: int) -> PersonRecall | None:
    """The cached recall if it holds exactly the answers up to record ``newest``, folded with the parameter set of that
    number, and still reads; None otherwise.
    """
    wanted = Wanted(person.pk, newest, parameter_set)
    return kept_recalls([wanted])[wanted]


def newest_answer(person: Person, known_at: int | None = None) -> int:
    """The record number of what moved recall last, an answer or a dispute, as known at a record number; 0 for none."""
    rows = Record.objects.filter(chain_id=person.group.chain_id, about=person.key, kind__in=MOVES_RECALL)
    if known_at is not None:
        rows = rows.filter(number__lte=known_at)
    return rows.order_by("-number").values_list("number", flat=True).first() or 0


def next_turn(drill: Drill) -> Turn | None:
    """The first turn of a drill that is still to be answered; None when the drill is closed or all are."""
    if drill.closed_at is not None:
        return None
    return drill.turns.filter(answered_at=None).select_related("version__question").order_by("position").first()


def spent_seconds(drill: Drill) -> float:
    """What its answered questions took, each counted for two minutes at most: then the phone had been put away."""
    answered = drill.turns.filter(answered_at__isnull=False, shown_at__isnull=False)
    spans = (turn.answered_at - turn.shown_at for turn in answered if turn.answered_at and turn.shown_at)
    return sum(min(span.total_seconds(), PUT_AWAY_SECONDS) for span in spans)


def is_over(drill: Drill) -> bool:
    """Whether the minutes of a drill are used, so that no further question begins."""
    return is_time_up(spent_seconds(drill), drill.minutes, drill.seconds_each)


def seeds_asked(person: Person, history: History) -> dict[str, set[int]]:
    """Every seed with which this person was asked a question, by its id: of turns and of answers on record."""
    found: dict[str, set[int]] = defaultdict(set)
    turns = Turn.objects.filter(drill__person=person)
    for ident, seed in turns.values_list("version__question__ident", "seed"):
        found[ident].add(seed)
    for fact in (row.fact for row in history.answers if row.fact):
        found[fact.question].add(fact.seed)
    return found


def as_memory_answer(row: Written[Answered], using: ParameterSet) -> MemoryAnswer:
    """An answer on record as the memory model sees it with a parameter set: no commitment, no consequence."""
    assert row.fact is not None
    easiness, easiness_var = using.easiness_of(row.fact.question)
    return MemoryAnswer(
        question=row.fact.question,
        at=row.happened_at,
        right=row.fact.right,
        chance_floor=row.fact.chance_floor_ppm / PPM,
        record=row.number,
        too_fast=row.fact.too_fast,
        easiness=easiness,
        easiness_var=easiness_var,
    )


def _given(row: Written[Answered]) -> GivenAnswer:
    assert row.fact is not None
    return GivenAnswer(
        record=row.number,
        question=row.fact.question,
        topic=Topic(row.fact.topic),
        consequence=Consequence(row.fact.consequence),
        happened_at=row.happened_at,
        right=row.fact.right,
        unsafe=row.fact.outcome == Outcome.UNSAFE,
        too_fast=row.fact.too_fast,
    )


def _talk(row: Written[TalkedThrough]) -> TalkThrough:
    assert row.fact is not None
    return TalkThrough(record=row.number, question=row.fact.question, happened_at=row.happened_at)

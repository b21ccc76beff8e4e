"""Drilling: open a shift drill, show a turn, record its one answer, move recall; record a talk-through."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

import msgspec
from django.db import transaction
from django.utils.translation import gettext as _

from training.bank.models import QuestionVersion
from training.bank.queries import AcceptedQuestion, Unreadable, accepted_in, question_of
from training.bank.rule_books import rule_book_of
from training.core.memory.fold import OutOfOrder, PersonRecall, after_answer
from training.core.memory.pace import with_one_to_spare
from training.core.questions.kinds import Commitment, Kind, Question, outcome
from training.core.questions.marking import BadAnswer, chance_floor, mark, parse_number, shown_order, too_fast
from training.drill.disputed import disputes_answers
from training.drill.facts import Answered, TalkedThrough
from training.drill.models import Drill, PersonBelief, RecallState, Turn
from training.drill.parameters import ParameterSet, parameters_of
from training.drill.picking import pick_questions
from training.drill.queries import (
    PPM,
    History,
    as_memory_answer,
    history_of,
    is_over,
    kept_recall,
    newest_answer,
    next_turn,
    seeds_asked,
)
from training.people.models import Person
from training.records.actions import Refused, append
from training.records.models import Record
from training.records.queries import Written

SHIFT = timedelta(hours=12)
MOST_REDRAWS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What was answered: option keys in order, or the number as typed; and the commitment said with it."""

    response: tuple[str, ...]
    commitment: Commitment


def open_drill(*, person: Person, minutes: int, at: datetime) -> Drill:
    """Go on with the drill of this shift, or open a new one. Raises ``Refused`` when there is nothing to ask."""
    with transaction.atomic():
        _lock(person)
        held = Drill.objects.filter(person=person, closed_at=None).first()
        if held and at - held.opened_at < SHIFT:
            return held
        history = history_of(person)
        chosen_for = with_one_to_spare(minutes, history.seconds())
        picked = _with_seeds(person, pick_questions(person, history, minutes=chosen_for, at=at), history)
        if not picked:
            raise Refused(_nothing_to_ask(person))
        if held:
            close_drill(drill=held, at=at)
        drill = Drill.objects.create(
            person=person, workshop=person.workshop, minutes=minutes, seconds_each=history.seconds(), opened_at=at
        )
        Turn.objects.bulk_create(
            Turn(drill=drill, position=position, version_id=version_id, seed=seed)
            for position, (version_id, seed) in enumerate(picked, start=1)
        )
    return drill


def close_drill(*, drill: Drill, at: datetime) -> None:
    """Close a drill; what was answered stands, what was not comes another day."""
    Drill.objects.filter(pk=drill.pk, closed_at=None).update(closed_at=at)


def show_turn(*, turn: Turn, at: datetime) -> Question:
    """The question of a turn; notes when it was first shown and how its options stand. Raises ``Unreadable``."""
    question = question_of(turn.version, turn.seed)
    if not turn.order:
        turn.order = list(shown_order(question, turn.seed))
        Turn.objects.filter(pk=turn.pk, answered_at=None).update(order=turn.order)
    if turn.shown_at is None:
        turn.shown_at = at
        Turn.objects.filter(pk=turn.pk, answered_at=None, shown_at=None).update(shown_at=at)
    return question


def reorder(*, turn: Turn, order: Sequence[str]) -> None:
    """Keep the order in which the steps stand now; ``BadAnswer`` when these are not the steps of the question."""
    if sorted(order) != sorted(turn.order):
        raise BadAnswer(_("These are not the steps of this question. Reload the page."))
    turn.order = list(order)
    Turn.objects.filter(pk=turn.pk, answered_at=None).update(order=turn.order)


def record_answer(*, turn: Turn, reply: Reply, by: Person, at: datetime) -> Turn:
    """Record the answer of a turn once; a second tap returns the first outcome.

    Raises ``BadAnswer`` for what cannot be marked, ``Refused`` when it is not this turn's time.
    """
    with transaction.atomic():
        _lock(by)
        held = Turn.objects.select_related("version__question", "drill__workshop").get(pk=turn.pk, drill__person=by)
        if held.answered_at is not None:
            return held
        if held != next_turn(held.drill):
            raise Refused(_("This question is not open now. Go back to the first page and start or go on from there."))
        fact = _answered(held, reply, at)
        # what follows needs the record's number; all of it stands or falls with the record
        record = append(fact, chain_id=by.group.chain_id, about=by.key, at=at)
        _keep_answer(held, reply, fact, record, at)
        _move_recall(by, fact, record)
        if next_turn(held.drill) is None or is_over(held.drill):
            close_drill(drill=held.drill, at=at)
    return held


def record_talk_through(*, person: Person, answer: int, note: str, by: Person, at: datetime) -> None:
    """Record that ``by`` talked an unsafe answer through; the caller has checked that ``by`` may. Once is enough.

    Raises ``Refused`` without such an answer, without a note, or for one's own.
    """
    if person.pk == by.pk:
        raise Refused(_("Nobody talks their own answer through. Ask another mentor."))
    if not note.strip():
        raise Refused(_("Write a sentence on what you talked about."))
    with transaction.atomic():
        _lock(person)
        unsafe = {row.record: row for row in history_of(person).unsafe()}
        if answer not in unsafe:
            raise Refused(_("There is no such unsafe answer on this person's record."))
        if unsafe[answer].talked_through:
            return
        fact = TalkedThrough(answer=answer, question=unsafe[answer].question, note=note.strip(), by=by.key)
        append(fact, chain_id=person.group.chain_id, about=person.key, at=at)


def refold(*, person: Person) -> PersonRecall:
    """Fold all of a person's answers again and keep the result: after a late answer, or when the cache is in doubt."""
    with transaction.atomic():
        _lock(person)
        history = history_of(person)
        recall = history.recall()
        RecallState.objects.filter(person=person).delete()
        RecallState.objects.bulk_create(
            RecallState(person=person, question=ident, trace=msgspec.to_builtins(trace))
            for ident, trace in recall.traces.items()
        )
        _keep_belief(person, recall, history.newest, history.parameter_set)
    return recall


def check_recall(*, person: Person, at: datetime) -> bool:
    """Say whether the cached recall is the fold of the answers on record, fold it anew if not, and note the check.

    A cache that is behind says so itself and is read by nobody: it is brought up to date and counts as agreeing.
    """
    with transaction.atomic():
        _lock(person)
        history = history_of(person)
        kept = kept_recall(person, newest=history.newest, parameter_set=history.parameter_set.number)
        agrees = kept == history.recall()
        if not agrees:
            refold(person=person)
        PersonBelief.objects.filter(person=person).update(checked_at=at)
    return agrees or kept is None


def _lock(person: Person) -> None:
    """One writer at a time for one person's drills and recall; SQLite's transactions see to that themselves."""
    Person.objects.select_for_update(no_key=True).get(pk=person.pk)


def _nothing_to_ask(person: Person) -> str:
    if rule_book_of(person.workshop) is None or not accepted_in(person.workshop):
        return _("There is nothing to drill yet: a checker accepts the workshop's questions first.")
    return _("There is nothing left to ask for this shift. Come back tomorrow.")


def _keep_answer(held: Turn, reply: Reply, fact: Answered, record: Record, at: datetime) -> None:
    held.answered_at, held.response = at, list(reply.response)
    held.commitment, held.outcome, held.too_fast = fact.commitment, fact.outcome, fact.too_fast
    held.record_number = record.number
    held.save(update_fields=["answered_at", "response", "commitment", "outcome", "too_fast", "record_number"])


def _move_recall(person: Person, fact: Answered, record: Record) -> None:
    """Move the cache by one answer; anything but the plain next answer onto a whole cache folds it anew."""
    using = parameters_of(person.group.chain_id)
    newest = newest_answer(person, record.number - 1)
    before = None if disputes_answers(person) else kept_recall(person, newest=newest, parameter_set=using.number)
    written = Written(
        number=record.number,
        kind=record.kind,
        about=person.key,
        happened_at=record.happened_at,
        recorded_at=record.recorded_at,
        fact=fact,
    )
    try:
        recall = after_answer(before, as_memory_answer(written, using), using.parameters) if before else None
    except OutOfOrder:
        recall = None
    if recall is None:
        refold(person=person)
        return
    trace = msgspec.to_builtins(recall.traces[fact.question])
    RecallState.objects.update_or_create(person=person, question=fact.question, defaults={"trace": trace})
    _keep_belief(person, recall, record.number, using)


def _keep_belief(person: Person, recall: PersonRecall, newest: int, using: ParameterSet) -> None:
    folded_at, folded_to = recall.folded_to or (None, 0)
    kept = {
        "packed": recall.belief.to_bytes(),
        "folded_at": folded_at,
        "folded_to": folded_to,
        "newest_answer": newest,
        "parameter_set": using.number,
    }
    PersonBelief.objects.update_or_create(person=person, defaults=kept)


def _with_seeds(person: Person, picked: Sequence[AcceptedQuestion], history: History) -> list[tuple[int, int]]:
    """Version id and seed of each picked question; one that cannot be shown is left out."""
    versions = QuestionVersion.objects.select_related("question").in_bulk([row.version_id for row in picked])
    asked = seeds_asked(person, history)
    seeds = [fresh_seed(person.key, versions[row.version_id], asked.get(row.ident, set())) for row in picked]
    return [(row.version_id, seed) for row, seed in zip(picked, seeds, strict=True) if seed is not None]


def fresh_seed(person_key: str, version: QuestionVersion, asked: Collection[int]) -> int | None:
    """A seed that this person has not had for this question, and whose numbers they have not had either.

    Where a generator has run out of other numbers, the last seed that draws something; None where none does.
    """
    seen = {_drawn(version, seed) for seed in asked} if version.worked_out else set()
    last = None
    for attempt in range(len(asked), len(asked) + MOST_REDRAWS):
        seed = _seed(person_key, version.question.ident, attempt)
        drawn = _drawn(version, seed)
        last = last if drawn is None else seed
        if drawn is not None and seed not in asked and drawn not in seen:
            break
    return last


def _drawn(version: QuestionVersion, seed: int) -> tuple[str, ...] | None:
    """All that can differ between two draws of a question; None when this seed draws nothing that can be shown."""
    try:
        question = question_of(version, seed)
    except Unreadable:
        return None
    return (question.situation, question.stem, *sorted(option.text for option in question.options))


def _seed(person_key: str, ident: str, attempt: int) -> int:
    """A seed of 31 bits that nobody else's numbers or turns give away."""
    return int(sha256(f"{person_key}/{ident}/{attempt}".encode()).hexdigest()[:8], 16) % 2**31


def _answered(held: Turn, reply: Reply, at: datetime) -> Answered:
    version: QuestionVersion = held.version
    question = question_of(version, held.seed)
    right = mark(question, parse_number(reply.response[0]) if question.kind is Kind.WORK_OUT else reply.response)
    seconds = (at - (held.shown_at or at)).total_seconds()
    return Answered(
        turn=held.key,
        workshop=held.drill.workshop.key,
        question=question.id,
        version=version.number,
        topic=question.topic.value,
        consequence=question.consequence.value,
        seed=held.seed,
        response=list(reply.response),
        right=right,
        commitment=reply.commitment.value,
        outcome=outcome(right=right, commitment=reply.commitment).value,
        too_fast=too_fast(seconds, question),
        milliseconds=max(0, round(seconds * 1000)),
        chance_floor_ppm=round(chance_floor(question) * PPM),
    )

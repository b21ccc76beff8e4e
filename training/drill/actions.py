"""Drilling: open a shift drill, show a turn, record its one answer, move recall; record a talk-through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

import msgspec
from django.db import transaction

from training.bank.models import QuestionVersion
from training.bank.queries import AcceptedQuestion, question_of
from training.core.memory.fold import OutOfOrder, PersonRecall, after_answer
from training.core.questions.kinds import Commitment, Kind, Question, outcome
from training.core.questions.marking import BadAnswer, chance_floor, mark, parse_number, shown_order, too_fast
from training.drill.facts import Answered, TalkedThrough
from training.drill.models import Drill, PersonBelief, RecallState, Turn
from training.drill.picking import pick_questions
from training.drill.queries import PPM, as_memory_answer, history_of, recall_of
from training.people.models import Person
from training.records.actions import Refused, append
from training.records.queries import Written

SHIFT = timedelta(hours=12)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reply:
    """What was answered: option keys in order, or the number as typed; and the commitment said with it."""

    response: tuple[str, ...]
    commitment: Commitment


def open_drill(*, person: Person, minutes: int, at: datetime) -> Drill:
    """Go on with the drill of this shift, or open a new one. Raises ``Refused`` when there is nothing to ask."""
    with transaction.atomic():
        Person.objects.select_for_update().get(pk=person.pk)
        held = Drill.objects.filter(person=person, closed_at=None).first()
        if held and at - held.opened_at < SHIFT:
            return held
        if held:
            close_drill(drill=held, at=at)
        picked = pick_questions(person, minutes=minutes, at=at)
        if not picked:
            raise Refused("There is nothing to drill yet: a checker accepts the workshop's questions first.")
        drill = Drill.objects.create(person=person, workshop=person.workshop, minutes=minutes, opened_at=at)
        Turn.objects.bulk_create(_turns(drill, picked))
    return drill


def close_drill(*, drill: Drill, at: datetime) -> None:
    """Close a drill; what was answered stands, what was not comes another day."""
    Drill.objects.filter(pk=drill.pk, closed_at=None).update(closed_at=at)


def show_turn(*, turn: Turn, at: datetime) -> Question:
    """The question of a turn as this person meets it; notes when it was first shown, and the first order of its options."""
    question = question_of(turn.version, turn.seed)
    if not turn.order:
        turn.order = list(shown_order(question, turn.seed))
        Turn.objects.filter(pk=turn.pk, answered_at=None).update(order=turn.order)
    if turn.shown_at is None:
        turn.shown_at = at
        Turn.objects.filter(pk=turn.pk, shown_at=None).update(shown_at=at)
    return question


def reorder(*, turn: Turn, order: Sequence[str]) -> None:
    """Keep the order in which the steps stand now; refused when it is not the same steps, or the turn is answered."""
    if sorted(order) != sorted(turn.order):
        raise BadAnswer("These are not the steps of this question. Reload the page.")
    Turn.objects.filter(pk=turn.pk, answered_at=None).update(order=list(order))


def record_answer(*, turn: Turn, reply: Reply, by: Person, at: datetime) -> Turn:
    """Record the answer of a turn once; a second tap returns the first outcome. Raises ``BadAnswer`` for what cannot be marked."""
    with transaction.atomic():
        held = Turn.objects.select_for_update().select_related("version__question", "drill__workshop").get(pk=turn.pk)
        if held.answered_at is not None:
            return held
        fact = _answered(held, reply, at)
        record = append(fact, chain_id=by.group.chain_id, about=by.key, at=at)
        held.answered_at, held.response = at, list(reply.response)
        held.commitment, held.outcome, held.record_number = fact.commitment, fact.outcome, record.number
        held.save(update_fields=["answered_at", "response", "commitment", "outcome", "record_number"])
        written = Written(
            number=record.number,
            kind=record.kind,
            about=by.key,
            happened_at=record.happened_at,
            recorded_at=record.recorded_at,
            fact=fact,
        )
        _move_recall(by, written)
        if not held.drill.turns.filter(answered_at=None).exists():
            close_drill(drill=held.drill, at=at)
    return held


def record_talk_through(*, person: Person, answer: int, note: str, by: Person, at: datetime) -> None:
    """Record that ``by`` talked an unsafe answer through; the caller has checked that ``by`` may. Raises ``Refused``."""
    unsafe = {row.record: row for row in history_of(person).unsafe()}
    if answer not in unsafe:
        raise Refused("There is no such unsafe answer on this person's record.")
    if person.pk == by.pk:
        raise Refused("Nobody talks their own answer through. Ask another mentor.")
    if not note.strip():
        raise Refused("Write a sentence on what you talked about.")
    fact = TalkedThrough(answer=answer, question=unsafe[answer].question, note=note.strip(), by=by.key)
    with transaction.atomic():
        append(fact, chain_id=person.group.chain_id, about=person.key, at=at)


def refold(*, person: Person) -> PersonRecall:
    """Fold all of a person's answers again and keep the result: after a late answer, or when the cache is in doubt."""
    history = history_of(person)
    recall = history.recall()
    with transaction.atomic():
        RecallState.objects.filter(person=person).delete()
        RecallState.objects.bulk_create(
            RecallState(person=person, question=ident, trace=msgspec.to_builtins(trace))
            for ident, trace in recall.traces.items()
        )
        _keep_belief(person, recall, history.seconds())
    return recall


def _move_recall(person: Person, written: Written[Answered]) -> None:
    try:
        recall = after_answer(recall_of(person, before=written.number), as_memory_answer(written))
    except OutOfOrder:
        refold(person=person)
        return
    assert written.fact is not None
    trace = msgspec.to_builtins(recall.traces[written.fact.question])
    RecallState.objects.update_or_create(person=person, question=written.fact.question, defaults={"trace": trace})
    _keep_belief(person, recall, None)


def _keep_belief(person: Person, recall: PersonRecall, seconds: float | None) -> None:
    folded_at, folded_to = recall.folded_to or (None, 0)
    kept = {"packed": recall.belief.to_bytes(), "folded_at": folded_at, "folded_to": folded_to}
    if seconds is not None:
        kept["seconds"] = seconds
    PersonBelief.objects.update_or_create(person=person, defaults=kept)


def _turns(drill: Drill, picked: Sequence[AcceptedQuestion]) -> list[Turn]:
    asked = Turn.objects.filter(drill__person_id=drill.person_id)
    return [
        Turn(
            drill=drill,
            position=position,
            version_id=row.version_id,
            seed=_seed(drill.person.key, row.ident, asked.filter(version__question__ident=row.ident).count()),
        )
        for position, row in enumerate(picked, start=1)
    ]


def _seed(person_key: str, ident: str, times_asked: int) -> int:
    """A seed of 31 bits that differs each time the person meets the question, so that numbers never come again."""
    return int(sha256(f"{person_key}/{ident}/{times_asked}".encode()).hexdigest()[:8], 16) % 2**31


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

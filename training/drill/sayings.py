"""The drill's records in words: an answer and what it came to, a talk-through, parameter sets."""

from __future__ import annotations

from collections.abc import Sequence

from django.db.models import F
from django.utils.translation import gettext as _

from training.bank.models import QuestionVersion
from training.bank.queries import Unreadable, question_of
from training.core.questions.kinds import Outcome
from training.drill.facts import Answered, ParametersConfirmed, ParametersProposed, TalkedThrough
from training.drill.labels import OUTCOMES
from training.people.disputes import disputable, never
from training.people.sentences import Names, Saying, say, say_many


def say_all() -> None:
    """Tell "My records" how to say them, and which of them the person may dispute."""
    say_many(Answered, answers_said)
    say(TalkedThrough, talked_through)
    say(ParametersProposed, proposed)
    say(ParametersConfirmed, confirmed)
    disputable(Answered, against=_wrong)
    disputable(TalkedThrough, against=never)


def _wrong(fact: Answered) -> bool:
    return not fact.right


def answers_said(facts: Sequence[Answered]) -> Saying:
    """Which question was answered, as it was asked, of which topic, and what it came to; looked up once for all."""
    rows = QuestionVersion.objects.filter(
        question__group__workshops__key__in={fact.workshop for fact in facts},
        question__ident__in={fact.question for fact in facts},
    ).annotate(workshop_key=F("question__group__workshops__key"), ident=F("question__ident"))
    versions = {(row.workshop_key, row.ident, row.number): row for row in rows}

    def said(fact: Answered, _names: Names) -> str:
        return _answered(fact, _stem(versions.get((fact.workshop, fact.question, fact.version)), fact.seed))

    return said


def _answered(fact: Answered, asked: str) -> str:
    said = (
        _("Answered “%(asked)s” (%(question)s), of %(topic)s: %(outcome)s.")
        if asked
        else _("Answered question %(question)s, version %(version)d, of %(topic)s: %(outcome)s.")
    ) % {
        "asked": asked,
        "question": fact.question,
        "version": fact.version,
        "topic": _(fact.topic),
        "outcome": _outcome(fact.outcome),
    }
    return f"{said} {_('Too fast to have been read: it counts for nothing.')}" if fact.too_fast else said


def talked_through(fact: TalkedThrough, names: Names) -> str:
    """Who talked which answer through, and what they wrote about it."""
    return _("%(mentor)s talked your answer of record %(number)d to question %(question)s through: %(note)s") % {
        "mentor": names.get(fact.by, "?"),
        "number": fact.answer,
        "question": fact.question,
        "note": fact.note,
    }


def proposed(fact: ParametersProposed, _names: Names) -> str:
    """Which parameter set was proposed, from how many answers."""
    return _("Parameter set %(number)d proposed from %(answers)d answers.") % {
        "number": fact.number,
        "answers": fact.answers,
    }


def confirmed(fact: ParametersConfirmed, names: Names) -> str:
    """Which parameter set came into force, and by whom."""
    return _("Parameter set %(number)d put in force by %(name)s.") % {
        "number": fact.number,
        "name": names.get(fact.by, "?"),
    }


def _stem(asked: QuestionVersion | None, seed: int) -> str:
    """What was asked, with the numbers drawn then; "" where the question cannot be shown any more."""
    try:
        return question_of(asked, seed).stem if asked else ""
    except Unreadable:
        return ""


def _outcome(outcome: str) -> str:
    if outcome not in set(Outcome):
        return outcome
    word, said = OUTCOMES[Outcome(outcome)]
    return f"{word} ({str(said).rstrip('.')})"

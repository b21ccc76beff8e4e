"""What the drill pages show: a question without a trace of its answer, and an answered one with all its reasons."""

from __future__ import annotations

import math
import re
from collections.abc import Collection
from datetime import datetime
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from training.bank.primers import slug_of
from training.core.questions.kinds import Kind, Option, Outcome, Question
from training.core.questions.marking import right_keys
from training.core.trade.calendar import local_day
from training.drill import labels
from training.drill.forms import letters_of
from training.drill.models import Drill, Turn
from training.drill.picking import comes_back
from training.drill.queries import is_over, spent_seconds
from training.people.models import Person

FIGURE_GAP = re.compile(r"(?<=[0-9]) (?=[0-9]{3}(?![0-9])|(?:k|M|m|µ)?(?:V|A|W|F|s|g|m|h|ohm|Ω)\b|min\b|mm\b|°)")


def question_page(
    turn: Turn, question: Question, *, chosen: Collection[str] = (), sentence: str = ""
) -> dict[str, Any]:
    """Context of an open question; ``chosen`` are letters (or the typed number) to keep, ``sentence`` what to mend."""
    letters = letters_of(question, turn.seed)
    by_key = {option.key: option for option in question.options}
    return {
        **_tally(turn, question),
        "kind": question.kind,
        "how": labels.HOW[question.kind],
        "options": [
            {"letter": letters[key], "text": kept_together(by_key[key].text), "chosen": letters[key] in chosen}
            for key in turn.order
        ],
        "unit": question.number.unit if question.number else "",
        "typed": next(iter(chosen), "") if question.kind is Kind.WORK_OUT else "",
        "sentence": sentence,
    }


def outcome_page(turn: Turn, question: Question, person: Person, *, at: datetime) -> dict[str, Any]:
    """Context of an answered question: what it came to, what follows, the right answer, and why, option by option."""
    outcome = Outcome(turn.outcome)
    word, said = labels.OUTCOMES[outcome]
    back = _back_words(turn, question, person, at)
    topic = _(question.topic.value)
    sentences = labels.follows(outcome, question.consequence, topic, too_fast=turn.too_fast, back=back)
    return {
        **_tally(turn, question),
        "kind": question.kind,
        "word": word,
        "said": said,
        "is_unsafe": outcome is Outcome.UNSAFE,
        "is_right": outcome in {Outcome.SOUND, Outcome.CAREFUL},
        "follows": [sentence for sentence in sentences if sentence],
        "number": question.number,
        "sources": question.sources,
        "topic": topic,
        "primer": slug_of(question.topic),
        "typed": turn.response[0] if question.kind is Kind.WORK_OUT else "",
        **_options(turn, question),
    }


def closed_page(drill: Drill, turns: list[tuple[Turn, Question]], *, at: datetime) -> dict[str, Any]:
    """Context of a drill that is over: what was answered, what each came to, and what comes back when."""
    answered = [(turn, question) for turn, question in turns if turn.answered_at]
    days = comes_back(drill.person, [question for _turn, question in answered], at=at)
    today, zone = local_day(at, drill.workshop.zone), drill.workshop.zone
    return {
        "drill": drill,
        "answered": len(answered),
        "time_is_up": is_over(drill),
        "left": drill.turns.count() - len(answered),
        "rows": [
            {
                "question": question,
                "topic": question.topic,
                "word": labels.OUTCOMES[Outcome(turn.outcome)][0],
                "position": turn.position,
                "back": labels.comes_back_words(
                    local_day(days[question.id], zone) if question.id in days else None,
                    today,
                    is_unsafe=turn.outcome == Outcome.UNSAFE,
                ),
            }
            for turn, question in answered
        ],
    }


def kept_together(text: str) -> str:
    """The text with figures that no line break can part from their thousands or their unit."""
    return FIGURE_GAP.sub("\u00a0", text)


def _tally(turn: Turn, question: Question) -> dict[str, Any]:
    total = turn.drill.turns.count()
    unanswered = turn.drill.turns.filter(answered_at=None).count()
    left_s = min(unanswered * turn.drill.seconds_each, turn.drill.minutes * 60 - spent_seconds(turn.drill))
    return {
        "drill": turn.drill,
        "turn": turn,
        "total": total,
        "minutes_left": max(1, math.ceil(left_s / 60)),
        "topic": question.topic,
        "cost": labels.COSTS[question.consequence],
        "situation": kept_together(question.situation),
        "stem": kept_together(question.stem),
        "picture": _picture(question),
        "picture_text": question.picture_text or "",
    }


def _picture(question: Question) -> SafeString | None:
    """The drawing as markup. The one place that trusts it: it comes from our own generators, never from a file."""
    if question.picture is None or question.worked_out is None:
        return None
    return mark_safe(question.picture)


def _options(turn: Turn, question: Question) -> dict[str, list[Option]]:
    by_key = {option.key: option for option in question.options}
    right = [by_key[key] for key in right_keys(question)]
    if question.kind is Kind.WORK_OUT:
        return {"right": [], "yours": [], "others": []}
    yours = [by_key[key] for key in turn.response]
    return {
        "right": right,
        "yours": yours,
        "others": [by_key[key] for key in turn.order if by_key[key] not in [*right, *yours]],
    }


def _back_words(turn: Turn, question: Question, person: Person, at: datetime) -> str:
    """When it comes back, unless it was answered again since: then this page does not know."""
    later = Turn.objects.filter(
        drill__person=person, version__question=turn.version.question, answered_at__gt=turn.answered_at
    )
    if later.exists():
        return ""
    zone = turn.drill.workshop.zone
    back_at = comes_back(person, [question], at=at).get(question.id)
    return labels.comes_back_words(local_day(back_at, zone) if back_at else None, local_day(at, zone))

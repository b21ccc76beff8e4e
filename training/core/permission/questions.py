"""Which questions count for a job type on a local day, and how many of them have yet to be answered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from training.core.permission.evidence import QuestionGate
from training.core.permission.findings import Case
from training.core.permission.rule_book import RecallOf
from training.core.questions.kinds import Consequence, Topic

LESSER = (Consequence.INJURY, Consequence.DAMAGE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """The questions of one topic that count on a day: life-consequence ones, and the others where they are asked.

    ``any_in_topic``: whether the topic has any question at all of those that are asked, before a limit on their number.
    """

    life: tuple[QuestionGate, ...]
    others: tuple[QuestionGate, ...]
    any_in_topic: bool

    @property
    def all(self) -> tuple[QuestionGate, ...]:
        """Life-consequence questions first."""
        return self.life + self.others


def is_life(consequence: Consequence) -> bool:
    """Whatever is not known to cost less costs lives."""
    return consequence not in LESSER


def counted_on(case: Case, rule: RecallOf, topic: Topic, day: date) -> Counted:
    """The questions of a topic that count on a local day: accepted, and in use for the days of the rule book."""
    life_only = rule.topic_mean_floor is None
    in_use = [q for q in case.questions if counts_from(case, q) <= day]
    asked = [q for q in in_use if q.topic == topic and (is_life(q.consequence) or not life_only)]
    life = [q for q in in_use if q.topic in rule.topics and is_life(q.consequence)]
    return Counted(
        life=tuple(q for q in _first_accepted(life, rule.most_life_questions) if q.topic == topic),
        others=tuple(q for q in asked if not is_life(q.consequence)),
        any_in_topic=bool(asked),
    )


def unanswered(case: Case, counted: Counted) -> int:
    """How many of the other questions have yet to be answered for the share that is asked."""
    asked = Fraction(str(case.rule_book.share_of_others_answered)) * len(counted.others)
    answered = sum(q.answered is True for q in counted.others)
    return max(0, -int((answered - asked) // 1))


def counts_from(case: Case, question: QuestionGate) -> date:
    """The first local day on which a question counts."""
    return question.accepted_on + timedelta(days=case.rule_book.in_use_days)


def days_of_change(case: Case, topic: Topic) -> list[date]:
    """Later local days on which further questions of the topic begin to count."""
    return sorted({d for q in case.questions if q.topic == topic and (d := counts_from(case, q)) > case.today})


def _first_accepted(life: list[QuestionGate], most: int | None) -> list[QuestionGate]:
    """The earliest accepted, up to ``most``; those accepted on one day by topics in turn, then by id.

    A question accepted later comes after all earlier ones, so it can never take the place of one that counts.
    """
    if most is None:
        return life
    turns: dict[tuple[date, Topic], int] = {}
    places = []
    for question in life:
        batch = (question.accepted_on, question.topic)
        turns[batch] = turns.get(batch, 0) + 1
        places.append((question.accepted_on, turns[batch], question.topic, question.question, question))
    return [place[-1] for place in sorted(places, key=lambda place: place[:4])[:most]]

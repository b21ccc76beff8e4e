"""Which questions count for a job type, from which local day each counts, and how many have yet to be answered.

Time alone never clears anyone (DESIGN section 3), so a question that comes into use may only add to what is asked:

* Among the questions that a rule asks about in a topic (life-consequence ones only, where it has no floor for the
  mean), those accepted on the topic's first day count from that day: a new workshop need not wait, and no topic opens
  by itself when 28 days are over. Any accepted later counts once it has been in use for the days of the rule book.
* The mean, and the share answered, have to hold for the questions of the first day, and again for these together with
  each further day's: a ``Stage`` for each such day. A later question can so only add a condition, never lift an
  earlier one.
* A limit on the number keeps those that count from the earliest day, then by id, so that one that begins to count
  later never takes the place of one that counts; over several topics, one of each in turn. Whoever accepts questions so
  says which count: those accepted first.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from training.core.permission.evidence import QuestionGate
from training.core.permission.findings import Case
from training.core.permission.rule_book import RecallOf
from training.core.questions.kinds import Consequence, Topic

LESSER = (Consequence.INJURY, Consequence.DAMAGE)
From = tuple[date, QuestionGate]
"""A question, and the first local day on which it counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """What a topic asks from a local day on: ``life`` are the life questions that begin to count on that day,
    ``counted`` all questions that count by then, those of earlier stages too.
    """

    from_day: date
    life: tuple[QuestionGate, ...]
    counted: tuple[QuestionGate, ...]


def is_life(consequence: Consequence) -> bool:
    """Whatever is not known to cost less costs lives."""
    return consequence not in LESSER


def stages(case: Case, rule: RecallOf, topic: Topic) -> tuple[Stage, ...]:
    """The stages of a topic, earliest first, those still to come too; none where nothing asked about is accepted."""
    key = ("counting", rule.topics, rule.topic_mean_floor is None, rule.most_life_questions, rule.most_a_topic)
    if key not in case.counting:
        case.counting[key] = counting(case.questions, rule, case.rule_book.in_use_days)
    begins = case.counting[key]
    mine = [(begins[q.question], q) for q in case.questions if q.topic == topic and q.question in begins]
    return tuple(
        Stage(
            from_day=day,
            life=tuple(q for start, q in mine if start == day and is_life(q.consequence)),
            counted=tuple(q for start, q in mine if start <= day),
        )
        for day in sorted({day for day, _ in asked_in(case.questions, rule, topic, case.rule_book.in_use_days)})
    )


def counting(questions: Sequence[QuestionGate], rule: RecallOf, in_use_days: int) -> Mapping[str, date]:
    """The ids of the questions that count for a rule, with the first local day of each.

    ``questions`` come by day of acceptance, then by id.
    """
    life: list[From] = []
    others: list[From] = []
    for topic in dict.fromkeys(rule.topics):
        asked = asked_in(questions, rule, topic, in_use_days)
        life += _first_in_turns([one for one in asked if is_life(one[1].consequence)], rule.most_a_topic)
        others += _first_in_turns([one for one in asked if not is_life(one[1].consequence)], rule.most_a_topic)
    kept = [*_first_in_turns(life, rule.most_life_questions), *others]
    return {question.question: day for day, question in kept}


def unanswered(case: Case, stage: Stage) -> int:
    """How many of the stage's other questions have yet to be answered for the share that is asked."""
    others = [q for q in stage.counted if not is_life(q.consequence)]
    asked = Fraction(str(case.rule_book.share_of_others_answered)) * len(others)
    answered = sum(q.answered is True for q in others)
    return max(0, -int((answered - asked) // 1))


def asked_in(questions: Iterable[QuestionGate], rule: RecallOf, topic: Topic, in_use_days: int) -> list[From]:
    """The questions that the rule asks about in a topic, before a limit on their number."""
    life_only = rule.topic_mean_floor is None
    asked = [q for q in questions if q.topic == topic and (is_life(q.consequence) or not life_only)]
    first = min((q.accepted_on for q in asked), default=None)
    in_use = timedelta(days=in_use_days)
    return [(q.accepted_on if q.accepted_on == first else q.accepted_on + in_use, q) for q in asked]


def _first_in_turns(asked: Sequence[From], most: int | None) -> Sequence[From]:
    """So many of the questions, those that count earliest, one of each topic in turn; all where there is no limit."""
    if most is None:
        return asked
    turns: Counter[tuple[date, Topic]] = Counter()
    places = []
    for day, question in asked:
        turns[day, question.topic] += 1
        places.append((day, turns[day, question.topic], question.topic, question.question, question))
    places.sort(key=lambda place: place[:4])
    return [(place[0], place[-1]) for place in places[:most]]

"""What somebody answers: keys or a number that is right, or wrong, by the core's own marking."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count, islice
from random import Random

from training.bank.models import QuestionVersion
from training.bank.queries import Unreadable, question_of
from training.core.questions.kinds import Kind, Question
from training.core.questions.marking import mark, parse_number, right_keys, words_to_read

MOST_DRAWS = 60


@dataclass(frozen=True, slots=True)
class Draw:
    """One question as it is asked: fixed, or with the numbers of one seed."""

    seed: int
    question: Question
    words: int


class Draws:
    """All draws of one version, each with other numbers, as many as anybody has needed so far; shared by everybody."""

    def __init__(self, version: QuestionVersion) -> None:
        self.version = version
        self._more = self._fresh()
        self._found: list[Draw] = []

    def draw(self, place: int) -> Draw:
        """The draw for somebody's answer number ``place`` (0 the first); when numbers run out they come again."""
        self._found.extend(islice(self._more, max(0, place + 1 - len(self._found))))
        return self._found[place % len(self._found)]

    def _fresh(self) -> Iterator[Draw]:
        if not self.version.worked_out:
            fixed = question_of(self.version, 0)
            yield Draw(0, fixed, words_to_read(fixed))
            return
        seen = set()
        for seed in islice(count(1), MOST_DRAWS):
            question = _drawn(self.version, seed)
            if question and (text := (question.situation, question.stem, question.options)) not in seen:
                seen.add(text)
                yield Draw(seed, question, words_to_read(question))


def _drawn(version: QuestionVersion, seed: int) -> Question | None:
    try:
        return question_of(version, seed)
    except Unreadable:
        return None


def response(question: Question, *, right: bool, chance: Random) -> list[str]:
    """What was picked, ordered or typed; marked as ``right`` says. ValueError where there is no such response."""
    for attempt in range(20):
        given = _right(question) if right else _wrong(question, chance, attempt)
        if given and is_right(question, given) is right:
            return given
    raise ValueError(f"no {'right' if right else 'wrong'} answer to {question.id}")


def is_right(question: Question, given: list[str]) -> bool:
    """The core's mark."""
    return mark(question, parse_number(given[0]) if question.kind is Kind.WORK_OUT else tuple(given))


def _right(question: Question) -> list[str]:
    return [_typed(question, 0.0)] if question.number else list(right_keys(question))


def _wrong(question: Question, chance: Random, attempt: int) -> list[str]:
    if question.number:
        off = (1 + attempt) * (question.number.tolerance * 2 + max(1.0, abs(question.number.value) * 0.2))
        return [_typed(question, off)]
    keys = list(right_keys(question))
    others = [option.key for option in question.options if option.key not in keys]
    if question.kind is Kind.PICK_ONE:
        return [chance.choice(others)]
    if question.kind is Kind.PUT_IN_ORDER:
        place = chance.randrange(len(keys) - 1)
        return [*keys[:place], keys[place + 1], keys[place], *keys[place + 2 :]]
    return keys[:-1] if len(keys) > 1 else [*keys, chance.choice(others)]


def _typed(question: Question, off: float) -> str:
    """The number as somebody types it: no more decimals than it needs, never grouped."""
    if question.number is None:
        return ""
    return f"{question.number.value + off:.6f}".rstrip("0").rstrip(".")

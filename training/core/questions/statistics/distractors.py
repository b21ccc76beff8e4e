"""Which wrong options people really choose: one that nobody takes only costs reading time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from training.core.questions.statistics.scores import BadScores

LEAST_SHARE = 0.05  # functioning = chosen by at least 5 in 100 and discriminating the right way


@dataclass(frozen=True, slots=True)
class Distractor:
    """One wrong option: how many chose it, their share of all answers, and whether it does its work."""

    key: str
    chosen: int
    share: float
    works: bool


def distractor_use(
    chosen: Mapping[str, int], right: str, discrimination: Mapping[str, float | None] | None = None
) -> tuple[Distractor, ...]:
    """The wrong options in the order given. ``chosen`` counts the answers to every option, the right one too.

    ``discrimination`` holds, where known, the correlation of choosing an option with the rest of a person's answers:
    a wrong option that is not chosen more by those who know less does not work.
    """
    if right not in chosen or min(chosen.values(), default=0) < 0:
        raise BadScores("Give a count of 0 or more for every option, the right one among them.")
    answers = sum(chosen.values())
    if answers == 0:
        raise BadScores("Nobody has answered yet.")
    known = discrimination or {}
    return tuple(
        Distractor(key, count, count / answers, count / answers >= LEAST_SHARE and _parts(key, known))
        for key, count in chosen.items()
        if key != right
    )


def distractor_efficiency(distractors: Sequence[Distractor]) -> float:
    """The share of wrong options that work, 0 to 1; about one half is the useful aim."""
    if not distractors:
        raise BadScores("There is no wrong option.")
    return sum(distractor.works for distractor in distractors) / len(distractors)


def _parts(key: str, known: Mapping[str, float | None]) -> bool:
    correlation = known.get(key)
    return correlation is None or correlation < 0

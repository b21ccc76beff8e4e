"""What may be done with a question's statistics, by how many answers they rest on and what a wrong act costs."""

from __future__ import annotations

from enum import StrEnum

from training.core.questions.kinds import Consequence

SHOW_FROM = 30
ACT_FROM = 100
HARD_BELOW = 0.3
EASY_FROM = 0.95
# A discrimination of zero within rounding parts nobody.
PARTS_ABOVE = 0.05


class Weight(StrEnum):
    """What figures from so many answers are good for (competence rules 11; common practice, no source)."""

    HIDE = "too few answers to show a figure"
    SHOW = "to be shown with its interval, too few answers to act on"
    ACT = "enough answers to act on"


class Advice(StrEnum):
    """What to do next."""

    WAIT = "wait for more answers"
    KEEP = "nothing to do"
    LOOK = "look at it again with somebody of the trade"
    MEND = "mend it or take it out"


def weight_of(answers: int) -> Weight:
    """What figures from so many answers are good for."""
    if answers < SHOW_FROM:
        return Weight.HIDE
    return Weight.SHOW if answers < ACT_FROM else Weight.ACT


def advice_on(answers: int, share_right: float, discrimination: float | None, consequence: Consequence) -> Advice:
    """What to do with a question. Statistics alone never ask for more than a second look at a life question.

    A life question that nearly everybody has right is as it should be; that it parts nobody is then no fault.
    """
    if weight_of(answers) is not Weight.ACT:
        return Advice.WAIT
    wrong_way = discrimination is not None and discrimination < 0
    if consequence is Consequence.LIFE:
        return Advice.LOOK if wrong_way or share_right < HARD_BELOW else Advice.KEEP
    if wrong_way:
        return Advice.MEND
    parts_nobody = discrimination is None or discrimination <= PARTS_ABOVE
    return Advice.LOOK if parts_nobody or not HARD_BELOW <= share_right < EASY_FROM else Advice.KEEP

"""Questions for these tests: sound ones, that a test then spoils in one place."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from training.core.questions.kinds import Consequence, Kind, NumberAnswer, Option, Question, Topic

SOUND = Question(
    id="lead-came-loose",
    topic=Topic.METERS,
    kind=Kind.PICK_ONE,
    consequence=Consequence.LIFE,
    situation="You have pulled the disconnect. The meter shows 0 V between both poles.",
    stem="Which act comes before you take the gloves off?",
    options=(
        Option(key="a", text="Prove the meter again on the known source", right=True, reason="An open lead shows 0 V."),
        Option(
            key="b", text="Write the reading on the record sheet", reason="A record of an unproved reading misleads."
        ),
        Option(key="c", text="Close the cover over the service plug", reason="The poles are not yet shown to be dead."),
    ),
    sources=("HSE GS38", "common practice, no source"),
    author="Hookside",
    review_by=date(2027, 11, 30),
)


def pick_one(texts: list[str], right: int = 0, **changes: object) -> Question:
    """A pick-one question with these option texts, of which number ``right`` is right."""
    options = tuple(
        Option(key="abcdefgh"[n], text=text, right=n == right, reason="It follows from the reading on the meter.")
        for n, text in enumerate(texts)
    )
    return replace(SOUND, options=options, **changes)  # type: ignore[arg-type]


def pick_all(rights: list[bool], **changes: object) -> Question:
    """A pick-all question of which the options marked True are right."""
    texts = ["Look at the leather", "Blow up each glove", "Read the date", "Wipe off the oil", "Turn the cuff"]
    options = tuple(
        Option(key="abcdefgh"[n], text=texts[n], right=right, reason="It follows from how the rubber is tested.")
        for n, right in enumerate(rights)
    )
    return replace(SOUND, kind=Kind.PICK_ALL, options=options, **changes)  # type: ignore[arg-type]


def in_order(texts: list[str], **changes: object) -> Question:
    """A put-in-order question whose right order is the order of ``texts``."""
    options = tuple(
        Option(key="abcdefgh"[n], text=text, place=n + 1, reason="The step before makes this one safe.")
        for n, text in enumerate(texts)
    )
    stem = "Put these steps in order, first to last."
    return replace(SOUND, kind=Kind.PUT_IN_ORDER, stem=stem, options=options, **changes)  # type: ignore[arg-type]


def work_out(value: float, tolerance: float, unit: str = "V", **changes: object) -> Question:
    """A work-out question with this answer."""
    number = NumberAnswer(value=value, unit=unit, tolerance=tolerance, reason="By the formula of the discharge.")
    stem = "What voltage is left after that time?"
    return replace(SOUND, kind=Kind.WORK_OUT, options=(), number=number, stem=stem, **changes)  # type: ignore[arg-type]

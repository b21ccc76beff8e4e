"""The fact of an observation: one attempt at a practical task, step by step, signed by the mentor who watched."""

from __future__ import annotations

from typing import ClassVar

from training.records.facts import Fact


class Observed(Fact, frozen=True):
    """``steps`` holds one of done, prompted, missed, not observed per step.

    ``judgement`` is the mentor's overall one, ready or not yet; ``passed`` follows from both. ``supervision`` says how
    close the mentor stood: watched (the person watched, and no step is judged), mentor beside, or alone.
    """

    kind: ClassVar[str] = "signoff.observed"
    task: str
    version: int
    workshop: str
    steps: list[str]
    judgement: str
    passed: bool
    note: str
    by: str
    supervision: str = "alone"

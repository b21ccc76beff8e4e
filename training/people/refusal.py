"""Why something about a person may not be entered: one sentence, and the field it is about."""

from __future__ import annotations


class Refusal(ValueError):
    """Nothing was recorded. ``sentence`` says why and what to do; ``field`` names the entry at fault, if it is one."""

    def __init__(self, sentence: str, field: str = "") -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field

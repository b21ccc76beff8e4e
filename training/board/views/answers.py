"""One answer in words, as the pages of a cell, of oneself and of the tally show it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

from training.board.disputed import Disputed, disputed_beside
from training.board.gaps import gaps_words, total_minutes
from training.board.labels import Voice, because_words, is_stood_down, supervisors_words, until_words
from training.core.permission.decision import Decision

ENDS_SOON = timedelta(hours=24)  # not printed: a print is not to outlast the clearance


def answer_words(decision: Decision, voice: Voice, disputed: Sequence[Disputed] = ()) -> dict[str, Any]:
    """Until when and why, under whom, or every gap with its way and with what of it the person disputes."""
    ends = decision.ends_by
    return {
        "decision": decision,
        "until": until_words(ends, voice) if ends else "",
        "because": because_words(ends, voice) if ends else "",
        "supervisors": supervisors_words(decision, voice),
        "stood_down": is_stood_down(decision),
        "gaps": [
            replace(words, disputed=said)
            for words, said in zip(gaps_words(decision, voice), disputed_beside(decision, disputed, voice), strict=True)
        ],
        "minutes": total_minutes(decision),
        "ends_soon": ends is not None and ends.at - voice.now <= ENDS_SOON,
    }

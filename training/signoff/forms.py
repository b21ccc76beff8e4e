"""Reading a posted observation: one result per step, the judgement, the note, and the password that signs."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import QueryDict
from django.utils.translation import gettext as _

from training.core.permission.evidence import Supervision
from training.core.permission.practical import Judgement, StepResult
from training.web.errors import BadPost

LONGEST_NOTE = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """What a mentor has said so far; None where nothing was chosen yet."""

    steps: tuple[StepResult | None, ...]
    judgement: Judgement | None
    note: str
    supervision: Supervision


def read_noted(post: QueryDict, *, steps: int) -> Noted:
    """Read the form of an observation with so many steps. Raises ``BadPost`` for words that the form does not offer."""
    try:
        results = tuple(_result(post.get(f"step-{place}", "")) for place in range(1, steps + 1))
        judgement = Judgement(post.get("judgement", "")) if post.get("judgement") else None
        supervision = Supervision(post.get("supervision") or Supervision.ALONE)
    except ValueError as wrong:
        raise BadPost(
            _("One of the answers is not on the form. Go back, choose from what is offered, and send it again.")
        ) from wrong
    note = post.get("note", "").strip()
    if len(note) > LONGEST_NOTE:
        raise BadPost(_("The note is longer than %(most)d characters. Shorten it.") % {"most": LONGEST_NOTE})
    return Noted(steps=results, judgement=judgement, note=note, supervision=supervision)


def _result(word: str) -> StepResult | None:
    return StepResult(word) if word else None

"""Why somebody is stood down, as a short list of causes; each says what follows from it.

The list is the union of what the trade's rules name as reasons to check somebody again (29 CFR 1910.147(c)(7)(iii) and
NFPA 70E 110.2 as quoted in the house's notes; 14 CFR 135.301(b) for a failed check), with our own on top.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from training.people.facts import StoodDown


class Cause(StrEnum):
    """What a record keeps of it."""

    INCIDENT = "incident or near miss"
    DEVIATION = "deviation seen"
    FAILED = "failed check or demonstration"
    UNSAFE_ANSWER = "wrong and sure on a life question"
    CHANGE = "change of procedure, vehicle family, test equipment or kit"
    ABSENCE = "absence of more than 90 days"
    LAPSED = "something it stands on has lapsed"
    MENTOR = "mentor's authority void"
    MEDICAL = "medical"
    OWN_REQUEST = "own request"
    OTHER = "other"


WORDS: Mapping[Cause, str | Promise] = {
    Cause.INCIDENT: _("Incident or near miss: a shock, an arc, or nearly one"),
    Cause.DEVIATION: _("Seen to work otherwise than the procedure says"),
    Cause.FAILED: _("Failed a check or a demonstration"),
    Cause.UNSAFE_ANSWER: _("Wrong answer to a life question, and would have acted on it"),
    Cause.CHANGE: _("Procedure, vehicle family, test equipment or kit has changed"),
    Cause.ABSENCE: _("Back after more than 90 days away"),
    Cause.LAPSED: _("Something that the clearance stands on has lapsed"),
    Cause.MENTOR: _("The mentor who observed had no authority"),
    Cause.MEDICAL: _("Medical: not fit until released"),
    Cause.OWN_REQUEST: _("At their own request"),
    Cause.OTHER: _("Other: say what"),
}


def cause_said(fact: StoodDown) -> str:
    """The cause and what was written about it, for whoever may see a reason; of a medical one neither is told."""
    if fact.cause not in set(Cause) or fact.cause == Cause.OTHER:
        return fact.reason
    said = str(WORDS[Cause(fact.cause)])
    return f"{said}. {fact.reason}" if fact.reason else f"{said}."


def needs_words(cause: str, *, medical: bool) -> bool:
    """Whether words are needed beside the cause: where none of the list says it, and never of a medical one."""
    return not medical and cause in ("", Cause.OTHER)

"""What a form may offer that only apps above this one know; they say so when they start, and are asked on request."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from training.people.models import Workshop

JOB_TYPES = "job types"
TASKS = "practical tasks"
CERTIFICATES = "outside certificates"
FIRST_MENTORS = "first mentors"  # how many months after the opening an outside certificate may carry any mentor


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One thing to choose. ``at_most_months`` is how long an appointment for it may hold.

    ``verify_months``: how often the issuer of a certificate has to be asked; None: not asked for.
    """

    key: str
    title: str
    at_most_months: int = 12
    verify_months: int | None = None


Offering = Callable[[Workshop], Sequence[Offer]]
_offerings: dict[str, Offering] = {}


def provide(what: str, offering: Offering) -> None:
    """Let an app that knows them say which there are at a workshop."""
    _offerings[what] = offering


def offered(what: str, workshop: Workshop) -> Sequence[Offer]:
    """What there is to choose at a workshop; nothing where nobody knows any."""
    return _offerings[what](workshop) if what in _offerings else ()

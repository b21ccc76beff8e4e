"""The password asked again before something is signed or given out: counted, so that nobody guesses it there."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import ceil

from django.utils.translation import ngettext

from training.people import attempts
from training.people.models import Person
from training.people.refusal import Refusal


def is_own_password(person: Person, password: str, *, at: datetime, field: str = "password") -> bool:
    """Whether this is the person's own password. Refuses without looking at it after too many wrong ones."""
    one = attempts.begin(attempts.signing_counts(person), at=at)
    if one.wait is not None:
        raise Refusal(too_many(one.wait), field)
    if not person.check_password(password):
        return False
    attempts.succeeded(one)
    return True


def too_many(wait: timedelta) -> str:
    """What is said to whoever has to wait before the next try."""
    minutes = ceil(wait / timedelta(minutes=1))
    sentence = ngettext(
        "Too many tries. Wait %(minutes)d minute, then try again.",
        "Too many tries. Wait %(minutes)d minutes, then try again.",
        minutes,
    )
    return sentence % {"minutes": minutes}

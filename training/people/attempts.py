"""Counting tries at a password, in the database: who guesses waits ever longer, and nobody can lock the owner out.

A try is counted before the password is looked at, so many at once are not more than one after the other. Names and
addresses stand in the counts as keyed digests only. A name that nobody has is counted like any other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address, ip_network

from django.db import transaction
from django.db.models import F
from django.utils.crypto import salted_hmac

from training.people.models import Person, TriesCounted

KEPT = timedelta(days=2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """So many tries are ``free``; each further one waits twice as long as the one before, up to the longest wait."""

    free: int
    first_wait: timedelta
    longest_wait: timedelta
    forgotten_after: timedelta


MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
# start values, common practice: to be set anew once there are figures of a workshop
PACES: Mapping[str, Pace] = {
    "address": Pace(free=20, first_wait=MINUTE, longest_wait=15 * MINUTE, forgotten_after=2 * HOUR),
    "account from address": Pace(free=5, first_wait=MINUTE, longest_wait=15 * MINUTE, forgotten_after=2 * HOUR),
    # guesses spread over many addresses: 17 in the first hour, then one an hour
    "account": Pace(free=15, first_wait=15 * MINUTE, longest_wait=HOUR, forgotten_after=24 * HOUR),
    "browser": Pace(free=5, first_wait=MINUTE, longest_wait=15 * MINUTE, forgotten_after=2 * HOUR),
    "signing": Pace(free=5, first_wait=MINUTE, longest_wait=15 * MINUTE, forgotten_after=2 * HOUR),
}
Counts = Mapping[str, str]  # pace -> digest of what is counted


@dataclass(frozen=True, slots=True, kw_only=True)
class Try:
    """One try at a password. ``wait`` None: it may be looked at, and is counted already."""

    counts: Counts
    wait: timedelta | None


def sign_in_counts(*, username: str, address: str, browser: str) -> Counts:
    """What a try to sign in counts towards; ``browser`` names one from which the account signed in before, or is "".

    Such a browser is counted for itself, so that whoever guesses elsewhere never keeps the owner out.
    """
    name = username.strip().casefold()
    if browser:
        return {"browser": _digest("browser", browser, name)}
    place = _network(address)
    return {
        "address": _digest("address", place),
        "account from address": _digest("account from address", name, place),
        "account": _account(name),
    }


def signing_counts(person: Person) -> Counts:
    """What a try at one's own password counts towards, asked again before something is signed."""
    return {"signing": _digest("signing", person.key)}


@transaction.atomic
def begin(counts: Counts, *, at: datetime) -> Try:
    """Count a try, unless one of its counts has to wait: then nothing is counted, and nothing may be looked at."""
    TriesCounted.objects.filter(last_at__lt=at - KEPT).delete()
    digests = sorted(counts.values())
    TriesCounted.objects.bulk_create(
        [TriesCounted(digest=digest, tries=0, last_at=at) for digest in digests], ignore_conflicts=True
    )
    rows = {row.digest: row for row in TriesCounted.objects.select_for_update().filter(digest__in=digests)}
    wait = max(_wait(rows[digest], PACES[pace], at) for pace, digest in counts.items())
    if wait > timedelta():
        return Try(counts=counts, wait=wait)
    for pace, digest in counts.items():
        row = rows[digest]
        row.tries = 1 if at - row.last_at > PACES[pace].forgotten_after else row.tries + 1
        row.last_at = at
        row.save(update_fields=["tries", "last_at"])
    return Try(counts=counts, wait=None)


@transaction.atomic
def succeeded(one: Try) -> None:
    """The password was right: its own tries are forgotten; of what others share only this one is taken back."""
    for pace, digest in one.counts.items():
        row = TriesCounted.objects.filter(digest=digest, tries__gt=0)
        if pace in ("address", "account"):
            row.update(tries=F("tries") - 1)
        else:
            row.update(tries=0)


def forget(person: Person) -> None:
    """Forget the tries at a person's account: a new password was set."""
    digests = [_account(person.username.strip().casefold()), *signing_counts(person).values()]
    TriesCounted.objects.filter(digest__in=digests).delete()


def _wait(row: TriesCounted, pace: Pace, at: datetime) -> timedelta:
    """How long until the next try may be made; a count from a clock that went back waits no longer than its pace."""
    beyond = row.tries - pace.free
    if beyond < 0 or at - row.last_at > pace.forgotten_after:
        return timedelta()
    delay = min(pace.first_wait * (1 << min(beyond, 30)), pace.longest_wait)
    return delay - max(at - row.last_at, timedelta())


def _account(name: str) -> str:
    return _digest("account", name)


def _network(address: str) -> str:
    """The address, of IPv6 its /64, since a house has all of that; anything unreadable is one place."""
    try:
        found = ip_address(address)
    except ValueError:
        return "unreadable"
    return str(ip_network(f"{found}/64", strict=False)) if isinstance(found, IPv6Address) else str(found)


def _digest(*parts: str) -> str:
    return salted_hmac("training.people.attempts", "\n".join(parts), algorithm="sha256").hexdigest()

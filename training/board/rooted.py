"""What a mentor's authority rests on, in a line for all tasks that rest on the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.dateformat import format as format_date
from django.utils.translation import gettext as _

from training.board.labels import Voice
from training.core.permission.authority import Court
from training.people.models import Person
from training.signoff.roots import Root, root_of, tasks_mentored


@dataclass(frozen=True, slots=True, kw_only=True)
class RestsOn:
    """Tasks, and in a sentence what the authority to observe them rests on; ``holds``: on something from outside."""

    tasks: str
    said: str
    holds: bool


def rests_on(mentor: Person, court: Court, voice: Voice, *, at: datetime) -> list[RestsOn]:
    """What a mentor's authority rests on, for every task that they are appointed to observe."""
    evidence = court.house.people.get(mentor.key)
    tasks = tasks_mentored(evidence, court, at) if evidence else []
    by_root: dict[Root | None, list[str]] = {}
    for task in tasks:
        by_root.setdefault(root_of(mentor.key, task, at, court), []).append(task)
    return [
        RestsOn(tasks=", ".join(named), said=_said(root, voice), holds=root is not None)
        for root, named in by_root.items()
    ]


def _said(root: Root | None, voice: Voice) -> str:
    if root is None:
        return _("On nothing from outside: no outside certificate and no mentor from outside stands behind it.")
    names = [voice.names.get(key, "?") for key in root.signers]
    if root.certificate is None:
        return _("On observations by %(names)s, a mentor from outside.") % {"names": _chained(names)}
    told = {
        "what": _(root.certificate.kind),
        "issued": format_date(root.certificate.issued_on, "j M Y"),
        "names": _chained(names),
    }
    if not names:
        return _("On your own outside certificate: %(what)s, issued %(issued)s.") % told
    return _("On observations by %(names)s, who holds an outside certificate: %(what)s, issued %(issued)s.") % told


def _chained(names: Sequence[str]) -> str:
    """A, observed by B, observed by C."""
    return _(", observed by ").join(names)

"""An observation in words, for "My records"."""

from __future__ import annotations

from django.utils.translation import gettext as _

from training.people.disputes import disputable
from training.people.sentences import Names, say
from training.signoff.facts import Observed


def say_all() -> None:
    """Tell "My records" how to say them, and that the person countersigns or disputes them."""
    say(Observed, observed)
    disputable(Observed, against=_failed, countersigned=True)


def _failed(fact: Observed) -> bool:
    return not fact.passed


def observed(fact: Observed, names: Names) -> str:
    """Which task was watched by whom, where, and what came of it."""
    if fact.supervision == "watched":
        said = _("%(name)s showed practical task %(task)s; it was watched.") % {
            "name": names.get(fact.by, "?"),
            "task": fact.task,
        }
        return f"{said} {fact.note}" if fact.note else said
    result = _("passed") if fact.passed else _("not passed")
    if fact.supervision == "mentor beside":
        result = _("%(result)s, with the mentor beside") % {"result": result}
    said = _("%(mentor)s watched practical task %(task)s, version %(version)d, at %(where)s: %(result)s.") % {
        "mentor": names.get(fact.by, "?"),
        "task": fact.task,
        "version": fact.version,
        "where": names.get(fact.workshop, "?"),
        "result": result,
    }
    return f"{said} {fact.note}" if fact.note else said

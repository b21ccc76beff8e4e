"""The records of a kit item in words."""

from __future__ import annotations

from django.utils.translation import gettext as _

from training.equipment.facts import KitAdded, KitChecked, KitIssued, KitNoted, KitRetired, KitTested
from training.people.disputes import disputable
from training.people.sentences import Names, day, say


def say_all() -> None:
    """Tell the pages of records how to say them, and that whoever is named under a pre-use check may dispute it."""
    say(KitAdded, added)
    say(KitTested, tested)
    say(KitIssued, issued)
    say(KitNoted, noted)
    say(KitChecked, checked)
    say(KitRetired, retired)
    disputable(KitChecked, against=_not_passed, whose=_checked_by)


def _not_passed(fact: KitChecked) -> bool:
    return not fact.passed


def _checked_by(fact: KitChecked) -> str:
    return fact.by


def added(fact: KitAdded, names: Names) -> str:
    """Which item was put on which register."""
    where = names.get(fact.workshop, "?")
    return _("%(ident)s, %(title)s, added to the kit register of %(where)s.") % {
        "ident": fact.ident,
        "title": fact.title,
        "where": where,
    }


def tested(fact: KitTested, _names: Names) -> str:
    """Which test on which day, passed or not."""
    said = _("%(test)s on %(on)s: passed.") if fact.passed else _("%(test)s on %(on)s: not passed.")
    return said % {"test": _(fact.test).capitalize(), "on": day(fact.tested_on)}


def issued(fact: KitIssued, _names: Names) -> str:
    """First issue."""
    return _("Issued for service on %(on)s.") % {"on": day(fact.issued_on)}


def noted(fact: KitNoted, _names: Names) -> str:
    """What makes it suspect."""
    return _("Noted on %(on)s: %(what)s") % {"on": day(fact.noted_on), "what": fact.what}


def checked(fact: KitChecked, _names: Names) -> str:
    """The pre-use check of a day."""
    said = _("Pre-use check on %(on)s: passed.") if fact.passed else _("Pre-use check on %(on)s: not passed.")
    return said % {"on": day(fact.checked_on)}


def retired(fact: KitRetired, _names: Names) -> str:
    """Out of service, and why."""
    return _("Taken out of service on %(on)s: %(why)s") % {"on": day(fact.retired_on), "why": fact.why}

"""The bank's records in words: questions accepted at a workshop, and a rule book put in force."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.bank.facts import Accepted, RuleBookInForce
from training.people.sentences import Names, day, say


def say_all() -> None:
    """Tell the pages of records how to say them."""
    say(Accepted, accepted)
    say(RuleBookInForce, rule_book_in_force)


def accepted(fact: Accepted, names: Names) -> str:
    """How many questions were accepted where, and since when they are in use."""
    said = ngettext(
        "%(n)d question accepted for %(where)s on %(on)s.",
        "%(n)d questions accepted for %(where)s on %(on)s.",
        len(fact.questions),
    )
    return said % {"n": len(fact.questions), "where": names.get(fact.workshop, "?"), "on": day(fact.accepted_on)}


def rule_book_in_force(fact: RuleBookInForce, names: Names) -> str:
    """Which version came into force where."""
    return _("Rule book %(version)d put in force at %(where)s.") % {
        "version": fact.version,
        "where": names.get(fact.workshop, "?"),
    }

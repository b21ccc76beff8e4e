"""The bank's records in words: questions accepted at a workshop, and what became of its rule books."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.bank.facts import Accepted, RuleBookConfirmed, RuleBookInForce, RuleBookProposed, RuleBookWithdrawn
from training.people.sentences import Names, day, say


def say_all() -> None:
    """Tell the pages of records how to say them."""
    say(Accepted, accepted)
    say(RuleBookInForce, rule_book_in_force)
    say(RuleBookProposed, rule_book_proposed)
    say(RuleBookConfirmed, rule_book_confirmed)
    say(RuleBookWithdrawn, rule_book_withdrawn)


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


def rule_book_proposed(fact: RuleBookProposed, names: Names) -> str:
    """Which version was proposed where, and from when."""
    return _("Rule book %(version)d proposed for %(where)s, from %(day)s on.") % {
        "version": fact.version,
        "where": names.get(fact.workshop, "?"),
        "day": day(fact.from_day),
    }


def rule_book_confirmed(fact: RuleBookConfirmed, names: Names) -> str:
    """Which version a second person confirmed where."""
    return _("Rule book %(version)d confirmed for %(where)s on %(day)s.") % {
        "version": fact.version,
        "where": names.get(fact.workshop, "?"),
        "day": day(fact.confirmed_on),
    }


def rule_book_withdrawn(fact: RuleBookWithdrawn, names: Names) -> str:
    """Which proposal was withdrawn where."""
    return _("Rule book %(version)d, proposed for %(where)s, was withdrawn.") % {
        "version": fact.version,
        "where": names.get(fact.workshop, "?"),
    }

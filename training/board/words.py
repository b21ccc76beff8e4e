"""The phrases of every ground and remedy; ``%(subject)s`` is a topic, task, certificate, job type or person."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import gettext_noop

from training.core.permission.decision import Ground, RemedyKind

Text = str | Promise


@dataclass(frozen=True, slots=True)
class GroundWords:
    """``missing``: what is missing; ``ends``: what ends a clearance."""

    missing: Text
    ends: Text


@dataclass(frozen=True, slots=True)
class RemedyWords:
    """``short`` for a cell, ``full`` for the page that opens from it."""

    short: Text
    full: Text


GROUNDS: Mapping[Ground, GroundWords] = {
    Ground.RECALL_LIFE_QUESTIONS: GroundWords(_("Recall of life questions: %(subject)s"), _("recall: %(subject)s")),
    Ground.RECALL_TOPIC: GroundWords(_("Recall: %(subject)s"), _("recall: %(subject)s")),
    Ground.NO_QUESTIONS: GroundWords(_("No question counts yet: %(subject)s"), _("questions: %(subject)s")),
    Ground.UNSAFE_ANSWER: GroundWords(_("Unsafe answer still open: %(subject)s"), _("unsafe answer: %(subject)s")),
    Ground.SIGN_OFF: GroundWords(_("Sign-off: %(subject)s"), _("sign-off ends: %(subject)s")),
    Ground.NOT_DONE_LATELY: GroundWords(_("Not done lately: %(subject)s"), _("last done: %(subject)s")),
    Ground.CERTIFICATE: GroundWords(_("Certificate: %(subject)s"), _("%(subject)s ends")),
    Ground.APPOINTMENT: GroundWords(_("Written appointment by a manager"), _("appointment ends")),
    Ground.INSTRUCTION: GroundWords(_("Instruction at this workshop"), _("instruction due")),
    Ground.JOB_TYPE: GroundWords(_("Job type first: %(subject)s"), _("job type: %(subject)s")),
    Ground.STOOD_DOWN: GroundWords(_("Stood down"), _("stood down")),
    Ground.UNDER_18: GroundWords(_("Under 18: this job type is not open, or only supervised"), _("under 18")),
    Ground.AGE_UNKNOWN: GroundWords(_("Whether under 18 is not entered"), _("age")),
    Ground.RECORD_UNREADABLE: GroundWords(_("A record cannot be read"), _("record unreadable")),
    Ground.CHAIN_BROKEN: GroundWords(_("The records do not verify"), _("records do not verify")),
    Ground.CLOCK: GroundWords(_("The clock is behind the records"), _("clock")),
    Ground.UNKNOWN_REQUIREMENT: GroundWords(_("The rule book asks for nothing that is known here"), _("rule book")),
    Ground.RULE_BOOK: GroundWords(
        _("A rule book that has come does not clear anybody for it"), _("another rule book from the next day")
    ),
    Ground.NO_SUPERVISOR: GroundWords(
        _("Nobody is cleared to supervise"), _("supervisor's own clearance: %(subject)s")
    ),
}

REMEDIES: Mapping[RemedyKind, RemedyWords] = {
    RemedyKind.DRILL: RemedyWords(_("drill: %(subject)s"), _("Drill.")),
    RemedyKind.TALK_THROUGH: RemedyWords(
        _("talk-through: %(subject)s"),
        _("A mentor talks it through, and the question is answered right on another day."),
    ),
    RemedyKind.OBSERVATION: RemedyWords(_("observation: %(subject)s"), _("A mentor watches it.")),
    RemedyKind.CERTIFICATE: RemedyWords(
        _("certificate: %(subject)s"), _("Get the certificate, and let a manager enter it.")
    ),
    RemedyKind.SIGNATURE: RemedyWords(_("a manager's signature"), _("A manager appoints in writing.")),
    RemedyKind.INSTRUCTION: RemedyWords(_("instruction"), _("Take the instruction, and let a manager enter it.")),
    RemedyKind.RELEASE: RemedyWords(_("release"), _("Somebody with the right releases it, with a reason.")),
    RemedyKind.ENTRY: RemedyWords(_("an entry by a manager"), _("A manager enters it.")),
    RemedyKind.REPAIR: RemedyWords(_("repair"), _("This has to be put right first. Tell your manager.")),
    RemedyKind.SUPERVISOR: RemedyWords(_("a supervisor"), _("Somebody else has to be cleared alone first.")),
}

# what the core says of every job type, for the translators; the sentences of a rule book are the workshop's own
CORE_WORDS = (
    gettext_noop("The job type asks for something."),
    gettext_noop("rule book"),
    gettext_noop("Somebody cleared alone for this job type can supervise."),
    gettext_noop("EAWR 1989 reg 16: supervision that fits the work; a named, cleared person"),
    gettext_noop("Every record of the person can be read."),
    gettext_noop("The rule book asks for something that this program does not know."),
    gettext_noop("The chain of records verifies."),
    gettext_noop("The clock is not behind the newest record."),
    gettext_noop("It is on record whether the person is under 18."),
    gettext_noop("No stand-down is open."),
    gettext_noop("Under 18: the rule book allows no more for this job type."),
    gettext_noop("rule book, young-person column"),
    gettext_noop("Hookside: missing or unreadable counts as not cleared"),
    gettext_noop("Hookside: a stand-down ends only by a recorded release"),
    gettext_noop("Hookside: without a rule book nobody is cleared"),
    gettext_noop("A rule book is in force at the workshop."),
    gettext_noop("The rule book whose first day has come can be read and has this job type."),
    gettext_noop("Hookside: from its first day a coming rule book takes away by itself"),
    gettext_noop("life"),
    gettext_noop("injury"),
    gettext_noop("damage"),
    gettext_noop("first aid and CPR"),
    gettext_noop("HV awareness course"),
    gettext_noop("HV course with assessed practical"),
    gettext_noop("medical"),
    gettext_noop("instruction"),
    gettext_noop("records"),
    gettext_noop("clock"),
    gettext_noop("age"),
)

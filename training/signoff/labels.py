"""Words for the mentor: why somebody may not observe, why an attempt does not pass, and the results of a step."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext, gettext_noop
from django.utils.translation import gettext_lazy as _

from training.core.permission.authority import Refusal
from training.core.permission.evidence import Supervision
from training.core.permission.practical import Fault, Flaw

REFUSALS: Mapping[Refusal, str | Promise] = {
    Refusal.SELF: _("Nobody signs for themselves. Ask another mentor."),
    Refusal.UNKNOWN: _("This mentor is not on record in the workshop group."),
    Refusal.UNREADABLE: _("One of the mentor's records cannot be read. Tell your manager."),
    Refusal.STOOD_DOWN: _("The mentor is stood down. A manager releases the stand-down first."),
    Refusal.NOT_APPOINTED: _("Not appointed as mentor for this task here. A manager appoints mentors, by task."),
    Refusal.NO_SIGN_OFF: _(
        "The mentor's own sign-off for this task is not valid. Somebody else observes the mentor first."
    ),
    Refusal.EACH_OTHER: _("These two signed each other's sign-off, and no outside certificate stands behind both."),
}
SUPERVISIONS: Mapping[Supervision, str | Promise] = {
    Supervision.WATCHED: _("They watch, I do it"),
    Supervision.BESIDE: _("I stand beside and may prompt"),
    Supervision.ALONE: _("They do it alone, I watch"),
}
NO_RULE_BOOK = _("No rule book is in force here. A manager puts one in force first.")
FLAWS: Mapping[Flaw, str | Promise] = {
    Flaw.OTHER_STEPS: _("The steps of this task have changed. Leave this observation and begin a new one."),
    Flaw.NOT_OBSERVED: _("Step %(step)d was not observed."),
    Flaw.CRITICAL: _("Critical step %(step)d was %(result)s."),
    Flaw.NOT_YET: _("The overall judgement is not yet."),
    Flaw.NOT_JUDGED: _("The overall judgement is missing."),
}


def fault_words(fault: Fault) -> str:
    """One reason why an attempt does not pass, in a sentence."""
    result = gettext(fault.result.value) if fault.result else ""
    return str(FLAWS[fault.flaw]) % {"step": fault.step, "result": result}


# the words of StepResult and Judgement, for the translators
STEP_WORDS = (
    gettext_noop("done"),
    gettext_noop("prompted"),
    gettext_noop("missed"),
    gettext_noop("not observed"),
    gettext_noop("ready"),
    gettext_noop("not yet"),
)

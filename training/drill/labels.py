"""Words of the drill pages: outcomes, what a wrong act can cost, and what follows from an answer."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, gettext_noop

from training.core.questions.kinds import Consequence, Kind, Outcome

Words = str | Promise

OUTCOMES: Mapping[Outcome, tuple[Words, Words]] = {
    Outcome.SOUND: (gettext_lazy("Sound"), gettext_lazy("Right, and you would have acted.")),
    Outcome.CAREFUL: (gettext_lazy("Careful"), gettext_lazy("Right, and you would have asked first.")),
    Outcome.HELD_BACK: (gettext_lazy("Held back"), gettext_lazy("Wrong, and you would have asked first.")),
    Outcome.UNSAFE: (gettext_lazy("Unsafe"), gettext_lazy("Wrong, and you would have acted.")),
}
COSTS: Mapping[Consequence, Words] = {
    Consequence.LIFE: gettext_lazy("A wrong act here can cost a life."),
    Consequence.INJURY: gettext_lazy("A wrong act here can injure somebody."),
    Consequence.DAMAGE: gettext_lazy("A wrong act here can damage the vehicle or the kit."),
}
HOW: Mapping[Kind, Words] = {
    Kind.PICK_ONE: gettext_lazy("Pick one."),
    Kind.PICK_ALL: gettext_lazy("Pick all that are right."),
    Kind.PUT_IN_ORDER: gettext_lazy("Move the steps until the first stands at the top."),
    Kind.WORK_OUT: gettext_lazy("Work it out and type the number."),
}
# the topics and the sentences of core.questions.marking, for the translators
CORE_WORDS = (
    gettext_noop("equipment choice"),
    gettext_noop("glove care"),
    gettext_noop("meters and proving"),
    gettext_noop("isolation"),
    gettext_noop("lifting"),
    gettext_noop("battery handling"),
    gettext_noop("rescue"),
    gettext_noop("work area"),
    gettext_noop("PPE"),
    gettext_noop("Choose an answer first."),
    gettext_noop("Choose one answer."),
    gettext_noop("Choose from the answers shown, each at most once."),
    gettext_noop("Give every step its place."),
    gettext_noop("Type a number, for example 12.5."),
    gettext_noop("Type only the number, for example 12.5 or 12,5 or 1 250, without the unit."),
)


def follows(outcome: Outcome, consequence: Consequence, topic: str, *, too_fast: bool, back: str) -> list[str]:
    """What follows from an answer, in plain sentences. ``back`` says when the question comes again, or is empty."""
    if outcome is Outcome.UNSAFE:
        return _after_unsafe(consequence, topic)
    if too_fast:
        return [_("You answered faster than it can be read, so this answer counts for nothing."), back]
    if outcome is Outcome.HELD_BACK:
        return [_("You would have stopped, and that is what keeps a wrong answer from harm."), back]
    return [back]


def comes_back_words(day: date | None, today: date, *, is_unsafe: bool = False) -> str:
    """When a question comes again, by local days; empty when nobody knows any more."""
    if is_unsafe:
        return _("It comes back tomorrow.")
    if day is None:
        return ""
    if day <= today + timedelta(days=1):
        return _("It comes back next shift.")
    return _("It comes back about %(day)s.") % {"day": date_format(day, "j M Y" if day.year != today.year else "j M")}


def _after_unsafe(consequence: Consequence, topic: str) -> list[str]:
    if consequence is not Consequence.LIFE:
        return [
            _("This one comes back tomorrow."),
            _("It keeps you from no job. Your mentor sees it and can talk it through with you."),
        ]
    jobs = _("Jobs that ask for %(topic)s wait until then, and until a mentor has talked it through with you.")
    return [_("This one comes back tomorrow."), jobs % {"topic": topic}]

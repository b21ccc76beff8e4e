"""Records of jobs in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.board import facts
from training.core.permission.running import Step
from training.records.facts import Fact


def said_of(fact: Fact | None, names: Mapping[str, str]) -> str:
    """A record of a job in words."""
    if fact is None:
        return _("Cannot be read.")
    return SAID[type(fact)](fact, names)


_STEP_WORDS: Final = {
    Step.LOCK_ON: gettext_lazy("Own lock on: %(says)s"),
    Step.LOCK_OFF: gettext_lazy("Own lock off"),
    Step.AWAY: gettext_lazy("%(person)s is away"),
    Step.BACK: gettext_lazy("%(person)s is back"),
    Step.OFFERED: gettext_lazy("Hand-over offered to %(person)s"),
    Step.STOPPED: gettext_lazy("Stopped: %(says)s"),
    Step.WARNED: gettext_lazy("All warned: %(says)s"),
    Step.ENERGISED: gettext_lazy("Re-energised: %(says)s"),
    Step.LABEL_OFF: gettext_lazy("Label off"),
    Step.TOLD: gettext_lazy("%(person)s was told that their lock was taken off"),
}


def _step(fact: facts.JobStep, names: Mapping[str, str]) -> str:
    if fact.step not in set(Step):
        return _("Cannot be read.")
    return str(_STEP_WORDS[Step(fact.step)]) % {"person": names.get(fact.person, "?"), "says": fact.says}


def _crew(fact: facts.CrewNamed | facts.JobPlanned | facts.WorkStarted, names: Mapping[str, str]) -> str:
    lead = names.get(fact.lead, "–") if fact.lead else "–"
    second = names.get(fact.second_person, "–") if fact.second_person else "–"
    return _("lead %(lead)s, second person %(second)s") % {"lead": lead, "second": second}


def _removed(fact: facts.LockRemoved | facts.LockRemovalAsked, names: Mapping[str, str]) -> str:
    return names.get(fact.owner, "?")


SAID: Final[Mapping[type[Fact], Callable[[Any, Mapping[str, str]], str]]] = {
    facts.JobPlanned: lambda fact, names: f"{_('Planned')}: {_crew(fact, names)}",
    facts.CrewNamed: lambda fact, names: f"{_('Crew named')}: {_crew(fact, names)}",
    facts.WorkStarted: lambda fact, names: f"{_('Start of work: yes')}: {_crew(fact, names)}",
    facts.JobStep: _step,
    facts.PointsMeasured: lambda fact, _names: _("Readings with %(what)s") % {"what": fact.instrument},
    facts.JobCounted: lambda fact, _names: (
        _("Counted: %(back)d of %(out)d tools, %(people)d people clear. %(what)s")
        % {"back": fact.tools_back, "out": fact.tools_out, "people": fact.people_clear, "what": fact.refitted}
    ),
    facts.InsulationTyped: lambda fact, _names: (
        _("Insulation %(read)s ohm, the maker's figure %(maker)s ohm")
        % {"read": f"{float(fact.measured_ohm):g}", "maker": f"{float(fact.maker_ohm):g}"}
    ),
    facts.LockRemovalAsked: lambda fact, names: (
        _("Asked to take off the lock of %(who)s. Off site: %(certain)s. Tried: %(tried)s. Tells them: %(tells)s")
        % {"who": _removed(fact, names), "certain": fact.certain, "tried": fact.tried, "tells": fact.tells}
    ),
    facts.LockRemoved: lambda fact, names: (
        _("Agreed: the lock of %(who)s was taken off") % {"who": _removed(fact, names)}
    ),
    facts.StopRead: lambda _fact, _names: _("Read that the work has to stop"),
    facts.JobClosed: lambda fact, _names: _("Handed back: %(to)s") % {"to": fact.handed_to},
    facts.JobCalledOff: lambda fact, _names: _("Called off: %(why)s") % {"why": fact.why},
}

"""The forms of a job's page: each reads what was typed into one fact. Figures carry a unit; a tick proves nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.board import facts
from training.board.work.asking import Asking
from training.board.work.events import number_text
from training.board.work.figures import OHMS, FigureField
from training.board.work.job_form import JobForm, OfPerson
from training.board.work.measure_form import Measure
from training.core.permission.running import Step
from training.records.facts import Fact


def _said(label: Any, hint: Any = "", *, longest: int = 200) -> forms.CharField:
    return forms.CharField(label=label, help_text=hint, max_length=longest)


class LockOn(JobForm):
    """Putting on one's own lock."""

    title = gettext_lazy("My own lock on")
    button = gettext_lazy("My lock is on")
    number = _said(gettext_lazy("Number on the lock"), longest=40)

    def fact(self) -> Fact:
        return self.step(Step.LOCK_ON, person=self.asking.viewer.key, says=self.cleaned_data["number"])


class LockOff(JobForm):
    """Taking off one's own lock."""

    title = gettext_lazy("My own lock off")
    button = gettext_lazy("My lock is off")

    def fact(self) -> Fact:
        return self.step(Step.LOCK_OFF, person=self.asking.viewer.key)


class Away(OfPerson):
    """Somebody leaves the bay."""

    title = gettext_lazy("Somebody leaves the bay")
    button = gettext_lazy("Is away")
    hint = gettext_lazy("Lock, label and cordon stay. On return the readings are taken again.")

    def who(self) -> Sequence[str]:
        state = self.asking.job.state
        return [key for key in state.people if key not in state.away]

    def fact(self) -> Fact:
        return self.step(Step.AWAY, person=self.cleaned_data["person"])


class Back(OfPerson):
    """Somebody is back in the bay."""

    title = gettext_lazy("Somebody is back")
    button = gettext_lazy("Is back")

    def who(self) -> Sequence[str]:
        return sorted(self.asking.job.state.away)

    def fact(self) -> Fact:
        return self.step(Step.BACK, person=self.cleaned_data["person"])


class Stop(JobForm):
    """Anybody stops the work."""

    title = gettext_lazy("Stop the work")
    button = gettext_lazy("Stop")
    hint = gettext_lazy(
        "Unexpected reading, hot part, smell, dropped tool, oil or a snag on a glove: stop, back off, tell."
    )
    says = _said(gettext_lazy("What was seen"))

    def fact(self) -> Fact:
        return self.step(Step.STOPPED, says=self.cleaned_data["says"])


class Offer(OfPerson):
    """The lead hands over, by name."""

    title = gettext_lazy("Hand over to another lead")
    button = gettext_lazy("Offer the hand-over")
    hint = gettext_lazy("Both present. The new lead asks the start of work, puts their lock on, then yours comes off.")

    def who(self) -> Sequence[str]:
        return [key for key, _name in self.asking.people if key != self.asking.viewer.key]

    def fact(self) -> Fact:
        return self.step(Step.OFFERED, person=self.cleaned_data["person"])


class Count(JobForm):
    """Counting before the locks come off."""

    title = gettext_lazy("Count tools and people")
    button = gettext_lazy("Counted")
    tools_out = forms.IntegerField(label=gettext_lazy("Tools that went in"), min_value=0, max_value=999)
    tools_back = forms.IntegerField(label=gettext_lazy("Tools that are back"), min_value=0, max_value=999)
    people_clear = forms.IntegerField(label=gettext_lazy("People clear of the vehicle"), min_value=0, max_value=99)
    refitted = _said(gettext_lazy("Refitted"), gettext_lazy("Covers, seals, torque, bonding."), longest=400)

    def fact(self) -> Fact:
        return facts.JobCounted(by=self.asking.viewer.key, **self.cleaned_data)


class Insulation(JobForm):
    """The insulation value, before the disconnect is closed."""

    title = gettext_lazy("Insulation value")
    button = gettext_lazy("Put on record")
    hint = gettext_lazy("Measured before the disconnect is closed, by the maker's procedure.")
    measured = FigureField(OHMS, label=gettext_lazy("Measured"), required=True)
    maker = FigureField(OHMS, label=gettext_lazy("The maker's figure"), required=True)
    instrument = _said(gettext_lazy("Instrument"), longest=40)

    def clean(self) -> dict[str, Any]:
        """A resistance is never below 0, and a maker's figure is above it."""
        said = super().clean() or self.cleaned_data
        if (said.get("measured") or 0) < 0:
            self.add_error("measured", _("A resistance is not below 0."))
        if said.get("maker") is not None and said["maker"] <= 0:
            self.add_error("maker", _("The maker's figure is above 0."))
        return said

    def fact(self) -> Fact:
        said = self.cleaned_data
        return facts.InsulationTyped(
            measured_ohm=number_text(said["measured"]),
            maker_ohm=number_text(said["maker"]),
            instrument=said["instrument"],
            by=self.asking.viewer.key,
        )


class Warned(JobForm):
    """Everybody near is warned."""

    title = gettext_lazy("Warn everybody")
    button = gettext_lazy("All are warned")
    says = _said(gettext_lazy("Who was told, by voice"))

    def fact(self) -> Fact:
        return self.step(Step.WARNED, says=self.cleaned_data["says"])


class Energise(JobForm):
    """Closing the disconnect in the maker's order."""

    title = gettext_lazy("Re-energise")
    button = gettext_lazy("Re-energised")
    says = _said(gettext_lazy("In the order of which procedure; any fault or warning shown"))

    def fact(self) -> Fact:
        return self.step(Step.ENERGISED, says=self.cleaned_data["says"])


class LabelOff(JobForm):
    """The label comes off last."""

    title = gettext_lazy("Label off, last of all")
    button = gettext_lazy("Label is off")

    def fact(self) -> Fact:
        return self.step(Step.LABEL_OFF)


class Close(JobForm):
    """Handing back."""

    title = gettext_lazy("Hand back and close")
    button = gettext_lazy("Handed back: close the job")
    handed_to = _said(gettext_lazy("To whom, and what they were told"), longest=400)

    def fact(self) -> Fact:
        return facts.JobClosed(handed_to=self.cleaned_data["handed_to"], by=self.asking.viewer.key)


class CallOff(JobForm):
    """Calling a job off."""

    title = gettext_lazy("Call the job off")
    button = gettext_lazy("Call it off")
    why = _said(gettext_lazy("Why, and who looked into the bay"), longest=400)

    def fact(self) -> Fact:
        return facts.JobCalledOff(why=self.cleaned_data["why"], by=self.asking.viewer.key)


class AskRemoval(OfPerson):
    """An absent person's lock, by the written rule."""

    title = gettext_lazy("Lock of somebody absent")
    button = gettext_lazy("Ask for a second person's agreement")
    hint = gettext_lazy(
        "Only by the written rule: it is certain that they are off site, they were tried, and somebody tells them "
        "before they work again. Two people, one of them a manager."
    )
    certain = _said(gettext_lazy("How it is certain that they are off site"))
    tried = _said(gettext_lazy("How they were tried to be reached"))
    tells = _said(gettext_lazy("Who tells them before they work again"))

    def who(self) -> Sequence[str]:
        return [lock.person for lock in self.asking.job.state.locks if lock.person != self.asking.viewer.key]

    def fact(self) -> Fact:
        said = self.cleaned_data
        return facts.LockRemovalAsked(
            owner=said["person"],
            certain=said["certain"],
            tried=said["tried"],
            tells=said["tells"],
            by_manager=self.asking.is_manager,
            by=self.asking.viewer.key,
        )


class AgreeRemoval(JobForm):
    """The second of the two agrees to what the first has said."""

    def __init__(self, *args: Any, asking: Asking, **kwargs: Any) -> None:
        super().__init__(*args, asking=asking, **kwargs)
        asked, names = asking.job.state.removal, dict(asking.people)
        if asked is not None:
            said = _(
                "Lock of %(owner)s, asked by %(by)s. Off site: %(certain)s. Tried: %(tried)s. Tells them: %(tells)s."
            )
            self.hint = said % {
                "by": names.get(asked.by, "?"),
                "owner": names.get(asked.owner, "?"),
                "certain": asked.certain,
                "tried": asked.tried,
                "tells": asked.tells,
            }

    title = gettext_lazy("Agree: the absent person's lock comes off")
    button = gettext_lazy("I agree, it is off")

    def fact(self) -> Fact:
        asked = self.asking.job.state.removal
        owner, number = (asked.owner, asked.record) if asked else ("", 0)
        return facts.LockRemoved(owner=owner, asked=number, by=self.asking.viewer.key)


class Told(OfPerson):
    """Whoever lost their lock in their absence is told."""

    title = gettext_lazy("Told that their lock was taken off")
    button = gettext_lazy("They know")

    def who(self) -> Sequence[str]:
        return sorted(self.asking.job.state.to_tell)

    def fact(self) -> Fact:
        return self.step(Step.TOLD, person=self.cleaned_data["person"])


FORMS: Final[dict[str, type[JobForm]]] = {
    "measure": Measure,
    "lock_on": LockOn,
    "count": Count,
    "insulation": Insulation,
    "warned": Warned,
    "lock_off": LockOff,
    "energise": Energise,
    "label_off": LabelOff,
    "close": Close,
    "back": Back,
    "agree": AgreeRemoval,
    "told": Told,
    "away": Away,
    "stop": Stop,
    "offer": Offer,
    "remove": AskRemoval,
    "call_off": CallOff,
}

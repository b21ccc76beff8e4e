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
from training.board.work.figures import OHMS, VOLTS, FigureField
from training.core.permission.proving import Proving
from training.core.permission.running import Step
from training.core.trade.meters import SOURCES, TestPoint
from training.records.facts import Fact


def _said(label: Any, hint: Any = "", *, longest: int = 200) -> forms.CharField:
    return forms.CharField(label=label, help_text=hint, max_length=longest)


class JobForm(forms.Form):
    """A form of a job's page; ``fact`` is what it comes to once it is valid."""

    title: Any = ""
    button: Any = ""
    hint: Any = ""

    def __init__(self, *args: Any, asking: Asking, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.asking = asking

    def fact(self) -> Fact:
        """The fact to be written."""
        raise NotImplementedError

    def step(self, step: Step, *, person: str = "", says: str = "") -> facts.JobStep:
        """A step by whoever fills the form in."""
        return facts.JobStep(step=step.value, person=person, says=says, by=self.asking.viewer.key)


class OfPerson(JobForm):
    """A form about one of the people on the job."""

    person = forms.ChoiceField(label=gettext_lazy("Who"))

    def __init__(self, *args: Any, asking: Asking, **kwargs: Any) -> None:
        super().__init__(*args, asking=asking, **kwargs)
        names = dict(asking.people)
        self.fields["person"].choices = [(key, names.get(key, "?")) for key in self.who()]  # type: ignore[attr-defined]

    def who(self) -> Sequence[str]:
        """Who can be meant."""
        return self.asking.job.state.people


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
    hint = gettext_lazy("Only by the written rule. Two people, one of them a manager.")
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
    """The second of the two agrees."""

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


class Measure(JobForm):
    """A round of readings: the maker's values, the tester proved, every pair, the tester proved again."""

    title = gettext_lazy("Readings of every pair")
    button = gettext_lazy("Put the readings on record")
    hint = gettext_lazy(
        "In this order: prove the tester, measure without changing anything, prove it again. A tick proves nothing."
    )
    instrument = forms.ChoiceField(label=gettext_lazy("Instrument"))
    source = forms.ChoiceField(label=gettext_lazy("Known source"), choices=[(each, each) for each in SOURCES])
    by_procedure = forms.BooleanField(
        label=gettext_lazy("This vehicle's procedure accepts this source"), required=False
    )

    def __init__(self, *args: Any, asking: Asking, **kwargs: Any) -> None:
        super().__init__(*args, asking=asking, **kwargs)
        self.fields["instrument"].choices = [(each, each) for each in asking.instruments]  # type: ignore[attr-defined]
        start = asking.job.state.start
        self.points: tuple[TestPoint, ...] = start.points if start else ()
        self.is_dead = bool(start and start.proving is Proving.DEAD)
        self.currents = tuple(dict.fromkeys(point.current for point in self.points))
        self._add_makers_values()
        for current in self.currents:
            self._add(f"source_{current}", _("%(kind)s: the source gives") % {"kind": current})
            self._add(f"before_{current}", _("%(kind)s, before: the tester shows") % {"kind": current})
        for number, point in enumerate(self.points):
            self._add(f"pair_{number}", _pair_words(point))
        for current in self.currents:
            self._add(f"after_{current}", _("%(kind)s, after: the tester shows") % {"kind": current})

    def _add(self, name: str, label: str) -> None:
        self.fields[name] = FigureField(VOLTS, label=label)

    def _add_makers_values(self) -> None:
        """The wait and the values at which this vehicle's maker calls a point dead; only where it is proved dead."""
        if not self.is_dead:
            return
        for current in self.currents:
            self._add(f"maker_{current}", _("The maker's value for dead, %(kind)s") % {"kind": current})
        self.fields["maker_wait_min"] = forms.FloatField(
            label=_("The maker's wait, in minutes"),
            required=False,
            min_value=0,
            max_value=600,
            widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
        )

    def fact(self) -> Fact:
        said = self.cleaned_data
        return facts.PointsMeasured(
            instrument=said["instrument"],
            testers=[self._tried(current) for current in self.currents],
            pairs=[
                facts.PairRead(
                    side=point.side,
                    current=point.current,
                    first=point.first,
                    second=point.second,
                    read_v=number_text(said[f"pair_{number}"]),
                )
                for number, point in enumerate(self.points)
            ],
            maker_dc_v=number_text(said.get("maker_DC")),
            maker_ac_v=number_text(said.get("maker_AC")),
            maker_wait_min=number_text(said.get("maker_wait_min")),
            waited_min=number_text(self._waited_min()),
            by=self.asking.viewer.key,
        )

    def _tried(self, current: str) -> facts.SourceTried:
        said = self.cleaned_data
        return facts.SourceTried(
            current=current,
            source=said["source"],
            source_v=number_text(said[f"source_{current}"]),
            before_v=number_text(said[f"before_{current}"]),
            after_v=number_text(said[f"after_{current}"]),
            by_procedure=said["by_procedure"],
        )

    def _waited_min(self) -> float | None:
        """Since the lead's own lock went on, by the records' clock."""
        lock = self.asking.job.state.lock_of(self.asking.viewer.key)
        return None if lock is None else max(0.0, (self.asking.at - lock.since).total_seconds() / 60)


def _pair_words(point: TestPoint) -> str:
    side = _("pack side") if point.side == "pack" else _("vehicle side")
    return f"{point.current}: {point.first} – {point.second}, {side}"


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

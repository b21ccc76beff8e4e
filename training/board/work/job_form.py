"""What all forms of a job's page have in common: who fills them in, and the one fact that they come to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from training.board import facts
from training.board.work.asking import Asking
from training.core.permission.running import Step
from training.records.facts import Fact


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

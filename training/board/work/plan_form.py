"""The form that plans a job."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.board.work.figures import VOLTS, FigureField
from training.board.work.forms import PersonField, TokenField, local_instant
from training.board.work.writing import Planned
from training.core.permission.planning import Plan
from training.people.models import Person, Workshop
from training.people.queries import people_of

_LOCAL = {"type": "datetime-local"}


def _person(label: Any) -> PersonField:
    return PersonField(Person.objects.none(), label=label, required=False, empty_label=gettext_lazy("Named later"))


class PlanForm(forms.Form):
    """What is known of a job before it starts; people may be named later."""

    job_type = forms.ChoiceField(label=gettext_lazy("Job type"))
    vehicle = forms.CharField(
        label=gettext_lazy("Vehicle"), max_length=60, help_text=gettext_lazy("Plate or end of the VIN.")
    )
    family = forms.CharField(label=gettext_lazy("Vehicle family"), max_length=60, required=False)
    bay = forms.CharField(label=gettext_lazy("Bay"), max_length=40)
    highest_dc_v = FigureField(
        VOLTS,
        label=gettext_lazy("Highest working voltage, DC"),
        help_text=gettext_lazy("Anywhere in the HV system, never the battery label."),
    )
    highest_ac_v = FigureField(
        VOLTS, label=gettext_lazy("Highest working voltage, AC"), help_text=gettext_lazy("0 if there is none.")
    )
    mass_kg = forms.FloatField(label=gettext_lazy("Mass of the vehicle, in kg"), required=False)
    starts = forms.CharField(label=gettext_lazy("Planned start"), widget=forms.DateTimeInput(attrs=_LOCAL))
    planned_end = forms.CharField(
        label=gettext_lazy("Planned end"),
        help_text=gettext_lazy("At most 10 hours after the start."),
        widget=forms.DateTimeInput(attrs=_LOCAL),
    )
    lead = _person(gettext_lazy("Person in control (lead)"))
    second_person = _person(gettext_lazy("Second person"))
    tasks = forms.MultipleChoiceField(
        label=gettext_lazy("Tasks of the sign-off list that it practises"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    token = TokenField()

    def __init__(
        self,
        *args: Any,
        workshop: Workshop,
        job_types: Sequence[tuple[str, str]],
        tasks: Sequence[tuple[str, str]],
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.zone = ZoneInfo(workshop.zone)
        self.fields["job_type"].choices = [("", _("Choose one")), *job_types]  # type: ignore[attr-defined]
        self.fields["tasks"].choices = tasks  # type: ignore[attr-defined]
        if not tasks:
            del self.fields["tasks"]
        for name in ("lead", "second_person"):
            self.fields[name].queryset = people_of(workshop)  # type: ignore[attr-defined]

    def clean_starts(self) -> datetime:
        """The instant meant."""
        return local_instant(self.cleaned_data["starts"], self.zone)

    def clean_planned_end(self) -> datetime:
        """The instant meant."""
        return local_instant(self.cleaned_data["planned_end"], self.zone)

    def planned(self) -> Planned:
        """What was planned, as the action takes it."""
        said = self.cleaned_data
        lead, second = said["lead"], said["second_person"]
        plan = Plan(
            vehicle=said["vehicle"],
            highest_dc_v=said["highest_dc_v"],
            highest_ac_v=said["highest_ac_v"],
            mass_kg=said["mass_kg"],
            bay=said["bay"],
            starts=said["starts"],
            ends=said["planned_end"],
            lead=lead.key if lead else "",
            second=second.key if second else "",
        )
        return Planned(job_type=said["job_type"], family=said["family"], plan=plan, tasks=tuple(said.get("tasks", ())))

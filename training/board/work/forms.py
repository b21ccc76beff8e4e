"""The form of a start of work: only what this job type and its kit ask for. Left empty counts as not said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any, Final
from zoneinfo import ZoneInfo

from django import forms
from django.core import signing
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.bank.rule_books import house_of
from training.core.permission.rule_book import JobType
from training.core.permission.start_of_work import PERSONAL_KINDS, Answers
from training.core.trade.fitness import Job
from training.core.trade.lifting import Load, Pads
from training.equipment.queries import KitRow
from training.people.models import Person, Workshop, new_key
from training.people.queries import people_of

_SIGNER: Final = signing.Signer(salt="start of work")


if TYPE_CHECKING:
    _ChoiceOfPerson = forms.ModelChoiceField[Person]
else:
    _ChoiceOfPerson = forms.ModelChoiceField


class PersonField(_ChoiceOfPerson):
    """Somebody of the workshop, by tally and name."""

    def label_from_instance(self, person: Any) -> str:
        return f"{person.tally} · {person.full_name}"


def _person(label: Any, hint: Any = "") -> PersonField:
    return PersonField(Person.objects.none(), label=label, help_text=hint, required=False, empty_label=_nobody)


_nobody = gettext_lazy("Nobody")


def _figure(label: Any, hint: Any = "", *, least: float | None = 0) -> forms.FloatField:
    widget = forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"})
    return forms.FloatField(label=label, help_text=hint, required=False, min_value=least, widget=widget)


def _tick(label: Any) -> forms.BooleanField:
    return forms.BooleanField(label=label, required=False)


class TokenField(forms.CharField):
    """The signed key of the form itself, so that a second tap writes nothing twice."""

    widget = forms.HiddenInput

    def clean(self, value: Any) -> str:
        """The key. ValidationError where nobody here has signed it."""
        try:
            return _SIGNER.unsign(super().clean(value))
        except signing.BadSignature as wrong:
            raise forms.ValidationError(_("This page is too old. Open it anew.")) from wrong


class StartForm(forms.Form):
    """All questions of a start of work; the constructor leaves out what this job type does not ask."""

    vehicle = forms.CharField(
        label=gettext_lazy("Vehicle"), max_length=60, required=False, help_text=gettext_lazy("Plate or end of the VIN.")
    )
    family = forms.CharField(
        label=gettext_lazy("Vehicle family"),
        max_length=60,
        required=False,
        help_text=gettext_lazy("As in the written appointment; asked where one is limited to families."),
    )
    bay = forms.CharField(label=gettext_lazy("Bay"), max_length=40, required=False)
    highest_dc_v = _figure(
        gettext_lazy("Highest working voltage, DC, in V"),
        gettext_lazy("Anywhere in the HV system: full charge, step-up converter, DC charging. Not the battery label."),
    )
    highest_ac_v = _figure(
        gettext_lazy("Highest working voltage, AC, in V"),
        gettext_lazy("Anywhere in the HV system; 0 if there is none."),
    )
    lead = _person(gettext_lazy("Lead"), gettext_lazy("The person in control: one for each job."))
    supervisor = _person(
        gettext_lazy("Supervisor"), gettext_lazy("Only if the lead may take this under supervision. Has no other task.")
    )
    second_person = _person(gettext_lazy("Second person"))
    stands_by = _tick(gettext_lazy("The second person is in sight, knows the switch-off and has nothing else to do"))
    point_of_work = forms.ChoiceField(
        label=gettext_lazy("Where the hands will be"),
        required=False,
        choices=[
            ("", gettext_lazy("Not said")),
            ("not at HV", gettext_lazy("not at HV parts")),
            ("vehicle side", gettext_lazy("vehicle side")),
            ("pack terminals", gettext_lazy("pack terminals")),
            ("service plug socket", gettext_lazy("service plug socket")),
            ("junction box", gettext_lazy("junction box")),
            ("inside the pack", gettext_lazy("inside the pack")),
        ],
    )
    ac_points = forms.ChoiceField(
        label=gettext_lazy("Are AC points measured?"),
        required=False,
        help_text=gettext_lazy("Not said counts as yes: the proving unit then has to give AC too."),
        choices=[("", gettext_lazy("Not said")), ("yes", gettext_lazy("yes")), ("no", gettext_lazy("no"))],
    )
    maker_test_v = _figure(gettext_lazy("Maker's test voltage for this part, in V"))
    mass_kg = _figure(gettext_lazy("Mass of the vehicle, in kg"))
    rear_axle_kg = _figure(gettext_lazy("Load on the rear axle, in kg"))
    wheelbase_m = _figure(gettext_lazy("Wheelbase, in m"))
    front_pads_m = _figure(gettext_lazy("Front pads, m behind the front axle"), least=None)
    rear_pads_m = _figure(gettext_lazy("Rear pads, m behind the front axle"), least=None)
    pack_kg = _figure(gettext_lazy("Mass of the pack, in kg"))
    pack_at_m = _figure(gettext_lazy("Middle of the pack, m behind the front axle"), least=None)
    fixture_kg = _figure(gettext_lazy("Mass of the fixture on the table, in kg"))
    pack_offset_m = _figure(gettext_lazy("Pack off the table's middle, in m"))
    inside_table_chart = forms.ChoiceField(
        label=gettext_lazy("The table maker's load chart"),
        required=False,
        help_text=gettext_lazy("Not said counts as outside."),
        choices=[
            ("", gettext_lazy("Not said")),
            ("inside", gettext_lazy("load is inside it")),
            ("outside", gettext_lazy("load is outside it")),
            ("no chart", gettext_lazy("the table has no chart")),
        ],
    )
    part_kg = _figure(gettext_lazy("Another heavy part that comes off, in kg"), gettext_lazy("Empty if there is none."))
    part_at_m = _figure(gettext_lazy("Its middle, m behind the front axle"), least=None)
    lead_kit = forms.MultipleChoiceField(label=gettext_lazy("Kit of the lead"), required=False)
    second_kit = forms.MultipleChoiceField(label=gettext_lazy("Kit of the second person"), required=False)
    procedure_opened_today = _tick(gettext_lazy("The maker's procedure for this vehicle is at hand, opened today"))
    procedure_edition = forms.CharField(
        label=gettext_lazy("Its edition"),
        max_length=120,
        required=False,
        help_text=gettext_lazy("Number or date on it."),
    )
    ordered_by = forms.CharField(label=gettext_lazy("Live-work order: who ordered it"), max_length=120, required=False)
    why_not_dead = forms.CharField(
        label=gettext_lazy("Why it cannot be done dead"),
        max_length=500,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    cordon_up = _tick(gettext_lazy("The cordon is up and the bay is signed"))
    planned_end = forms.CharField(
        label=gettext_lazy("Planned end"),
        required=False,
        help_text=gettext_lazy("Local time of the workshop; at most 10 hours from now."),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
    )
    token = TokenField()

    def __init__(self, *args: Any, asks: Asks, workshop: Workshop, rows: Sequence[KitRow], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = ZoneInfo(workshop.zone)
        for name in [name for name in self.fields if not asks.asks(name)]:
            del self.fields[name]
        for name in ("lead", "supervisor", "second_person"):
            if name in self.fields:
                self.fields[name].queryset = people_of(workshop)  # type: ignore[attr-defined]
        self._offer("lead_kit", rows, asks.lead_kinds)
        self._offer("second_kit", rows, asks.second_kinds)

    def _offer(self, name: str, rows: Sequence[KitRow], kinds: Sequence[str]) -> None:
        if name in self.fields:
            choices = [(str(row.item.pk), row.item.ident) for row in rows if row.item.kind in kinds]
            self.fields[name].choices = choices  # type: ignore[attr-defined]

    def before_kit(self) -> list[forms.BoundField]:
        """The questions that stand above the kit: vehicle and people."""
        return [field for field in self.visible_fields() if field.name not in _AFTER_KIT | _KIT]

    def after_kit(self) -> list[forms.BoundField]:
        """The questions that stand below the kit: papers, cordon, planned end."""
        return [field for field in self.visible_fields() if field.name in _AFTER_KIT]

    def clean_planned_end(self) -> datetime | None:
        """The instant meant."""
        text = self.cleaned_data["planned_end"]
        if not text:
            return None
        return local_instant(text, self.zone)

    def answers(self) -> Answers:
        """What was said, as the rule takes it."""
        said = self.cleaned_data
        return Answers(
            vehicle=said["vehicle"],
            family=said["family"],
            stands_by=said.get("stands_by", False),
            procedure_opened_today=said.get("procedure_opened_today", False),
            procedure_edition=said.get("procedure_edition", ""),
            ordered_by=said.get("ordered_by", ""),
            why_not_dead=said.get("why_not_dead", ""),
            cordon_up=said.get("cordon_up", False),
            planned_end=said["planned_end"],
        )


def local_instant(text: str, zone: ZoneInfo) -> datetime:
    """The instant that a local day and time mean; where the clocks go back, the later of the two."""
    try:
        local = datetime.fromisoformat(text)
        return max(local.replace(tzinfo=zone, fold=fold).astimezone(UTC) for fold in (0, 1))
    except (ValueError, OverflowError) as wrong:
        raise forms.ValidationError(_("Give day and time, such as 2026-03-14 16:20.")) from wrong


def new_token() -> str:
    """A signed key for a form that is about to be shown."""
    return _SIGNER.sign(new_key())


_KIT: Final = frozenset({"lead_kit", "second_kit"})
_AFTER_KIT: Final = frozenset(
    {"procedure_opened_today", "procedure_edition", "ordered_by", "why_not_dead", "cordon_up", "planned_end"}
)
_BY_KIND: Final[Mapping[str, tuple[str, ...]]] = {
    "visor": ("point_of_work",),
    "insulated tools": ("point_of_work",),
    "proving unit": ("ac_points",),
    "insulation tester": ("maker_test_v",),
    "lift": ("mass_kg", "rear_axle_kg", "wheelbase_m", "front_pads_m", "rear_pads_m", "part_kg", "part_at_m"),
    "lift table": ("pack_kg", "fixture_kg", "pack_offset_m", "inside_table_chart", "pack_at_m"),
}
_ALWAYS: Final = frozenset(
    {
        "vehicle",
        "family",
        "bay",
        "highest_dc_v",
        "highest_ac_v",
        "lead",
        "supervisor",
        "planned_end",
        "token",
        "lead_kit",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asks:
    """What the form of one job type asks. ``role_kinds`` is the kit of the second person's role."""

    job_type: JobType
    role_kinds: tuple[str, ...] = ()

    @property
    def second_kinds(self) -> tuple[str, ...]:
        """The kit kinds of the second person; none where no second person is asked for."""
        return self.role_kinds if self.job_type.at_start.second_person else ()

    @property
    def lead_kinds(self) -> tuple[str, ...]:
        """The kit kinds of the lead: what the second person holds for both is not asked twice."""
        shared = set(self.second_kinds) - PERSONAL_KINDS
        return tuple(kind for kind in self.job_type.at_start.kit_kinds if kind not in shared)

    def asks(self, name: str) -> bool:
        """Whether the form has this field."""
        start = self.job_type.at_start
        by_rule = {
            "second_person": bool(start.second_person),
            "stands_by": bool(start.second_person),
            "second_kit": bool(self.second_kinds),
            "procedure_opened_today": start.maker_procedure,
            "procedure_edition": start.maker_procedure,
            "ordered_by": start.live_work_order,
            "why_not_dead": start.live_work_order,
            "cordon_up": start.cordon,
        }
        by_kit = any(name in _BY_KIND.get(kind, ()) for kind in start.kit_kinds)
        return name in _ALWAYS or by_kit or by_rule.get(name, False)


def job_of(said: Mapping[str, Any], asks: Asks, workshop: Workshop) -> Job:
    """What is known of vehicle and job, for the fitness of the kit. What was not said stays unknown."""
    regime: Any = workshop.regime
    return Job(
        highest_dc_v=said["highest_dc_v"],
        highest_ac_v=said["highest_ac_v"],
        regime=regime,
        point_of_work=said.get("point_of_work") or None,
        ac_points=said.get("ac_points") != "no",
        maker_test_v=said.get("maker_test_v"),
        mass_kg=said.get("mass_kg"),
        rear_axle_kg=said.get("rear_axle_kg"),
        wheelbase_m=said.get("wheelbase_m"),
        pads=_pads(said, asks),
        parts_off=_parts_off(said),
        pack_kg=said.get("pack_kg"),
        fixture_kg=said.get("fixture_kg"),
        pack_offset_m=said.get("pack_offset_m"),
        inside_table_chart=_IN_CHART.get(said.get("inside_table_chart", ""), False),
        house=house_of(workshop),
    )


_IN_CHART: Final = {"inside": True, "no chart": None}


def _pads(said: Mapping[str, Any], asks: Asks) -> Pads | None:
    """Where the pads stand; unknown too while a heavy part is named by halves: its stage could not be judged."""
    front_m, rear_m = said.get("front_pads_m"), said.get("rear_pads_m")
    halves = (said.get("part_kg") is None) != (said.get("part_at_m") is None)
    pack_known = said.get("pack_kg") is not None and said.get("pack_at_m") is not None
    if front_m is None or rear_m is None or halves or (asks.asks("pack_at_m") and not pack_known):
        return None
    return Pads(front_m, rear_m)


def _parts_off(said: Mapping[str, Any]) -> tuple[Load, ...]:
    """The pack first, where one comes out, then the other heavy part."""
    pairs = [(said.get("pack_kg"), said.get("pack_at_m")), (said.get("part_kg"), said.get("part_at_m"))]
    return tuple(Load(mass_kg, at_m) for mass_kg, at_m in pairs if mass_kg is not None and at_m is not None)

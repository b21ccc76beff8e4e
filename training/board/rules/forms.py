"""The forms that change a rule book: its general part, a job type, and one form for each kind of requirement."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext_lazy as _

from training.board.rules.words import KINDS
from training.core.permission.reading import GLOVE_DUE_RULES, SECOND_PERSON
from training.core.questions.kinds import Topic
from training.core.trade.fitness import KINDS as KIT_KINDS
from training.core.trade.gloves import CLASSES

LONG, SHORT = 2000, 300
Plain = dict[str, Any]
Choices = list[tuple[str, Any]]
OUT = "out"
SAID = ("sentence", "source", "law")


def _whole(label: Any, hint: Any = "", *, least: int = 1, required: bool = True) -> forms.IntegerField:
    widget = forms.NumberInput(attrs={"inputmode": "numeric"})
    return forms.IntegerField(label=label, help_text=hint, min_value=least, required=required, widget=widget)


def _in_100(label: Any, hint: Any = "", *, required: bool = True) -> forms.FloatField:
    widget = forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"})
    return forms.FloatField(label=label, help_text=hint, min_value=0, max_value=100, required=required, widget=widget)


def _text(label: Any, hint: Any = "", *, longest: int = LONG, rows: int = 2, required: bool = True) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": rows})
    return forms.CharField(label=label, help_text=hint, max_length=longest, widget=widget, required=required)


def _several(label: Any, choices: Choices, **more: Any) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(label=label, choices=choices, widget=forms.CheckboxSelectMultiple, **more)


class GeneralForm(forms.Form):
    """What holds for all job types, and what a house settles about kit."""

    title = forms.CharField(label=_("Title"), max_length=SHORT)
    note = _text(_("Note"), rows=8, required=False)
    in_use_days = _whole(_("Days that a question is in use before it counts"), least=0)
    share_of_others_answered = _in_100(_("Other questions to be answered, in 100"))
    bootstrap_months = _whole(_("Months from opening in which an outside certificate makes a mentor"), least=0)
    glove_due_rule = forms.ChoiceField(
        label=_("Gloves: rule for the due date"), choices=[(w, w) for w in GLOVE_DUE_RULES]
    )
    glove_floor = forms.ChoiceField(label=_("Gloves: lowest class"), choices=[(c, c) for c in CLASSES])
    cuff_gap_mm = _whole(_("Gloves: cuff gap in mm"), _("Empty: the standard's own."), required=False)
    calibration_months = _whole(_("Meters: months between calibrations"))
    lift_months = _whole(_("Lifts: months between examinations"), _("Empty: the regime's own."), required=False)

    HOUSE: ClassVar = ("glove_due_rule", "glove_floor", "cuff_gap_mm", "calibration_months", "lift_months")

    @classmethod
    def shown(cls, book: Mapping[str, Any]) -> Plain:
        """What stands in the form for a rule book."""
        share = round(book["share_of_others_answered"] * 100, 2)
        return {**book, **book["house"], "share_of_others_answered": share}

    def taken(self) -> Plain:
        """The fields of a rule book that this form settles."""
        said = dict(self.cleaned_data)
        house = {name: said.pop(name) for name in self.HOUSE}
        return {**said, "share_of_others_answered": said["share_of_others_answered"] / 100, "house": house}


class JobTypeForm(forms.Form):
    """A job type itself: what it is called, who may have it, and what a start of work asks."""

    title = forms.CharField(label=_("Title"), max_length=SHORT)
    says = _text(_("What it is, in a sentence"))
    young_person = forms.ChoiceField(
        label=_("Under 18, at most"),
        choices=[("alone", _("alone, like everybody else")), ("supervised", _("supervised")), ("no", _("not at all"))],
    )
    supervised = forms.BooleanField(label=_("May be taken under supervision"), required=False)
    second_person = forms.ChoiceField(
        label=_("Second person at a start of work"),
        required=False,
        choices=[(w, _(w) if w else _("none")) for w in SECOND_PERSON],
    )
    maker_procedure = forms.BooleanField(label=_("The maker's procedure"), required=False)
    live_work_order = forms.BooleanField(label=_("A live-work order"), required=False)
    cordon = forms.BooleanField(label=_("The cordon"), required=False)
    kit = _several(_("Kit that has to be fit"), [(kind, _(kind)) for kind in KIT_KINDS], required=False)

    START: ClassVar = ("second_person", "maker_procedure", "live_work_order", "cordon", "kit")

    @classmethod
    def shown(cls, job_type: Mapping[str, Any]) -> Plain:
        """What stands in the form for a job type."""
        return {**job_type, **job_type["at_start"]}

    def taken(self) -> Plain:
        """The fields of a job type that this form settles."""
        said = dict(self.cleaned_data)
        at_start = {name: said.pop(name) for name in self.START}
        return {**said, "at_start": at_start}


class RequirementForm(forms.Form):
    """What every requirement has: a sentence, a source, what law asks, and whether it is taken out."""

    ASKS: ClassVar[str] = ""

    sentence = _text(_("Sentence"), _("Left as it is, it is written anew when the figures change."), required=False)
    source = _text(_("Source"), longest=LONG)
    law = _text(_("What law asks"), _("Empty: law asks nothing here by name, and this is our default."), required=False)
    out = forms.BooleanField(label=_("Take this requirement out"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.order_fields([name for name in self.fields if name not in (*SAID, OUT)])  # figures first

    @classmethod
    def shown(cls, requirement: Mapping[str, Any]) -> Plain:
        """What stands in the form for a requirement."""
        return {**{name: requirement.get(name, "") for name in SAID}, **cls._asked(requirement[cls.ASKS])}

    @classmethod
    def _asked(cls, asked: Any) -> Plain:
        return dict(asked)

    def taken(self) -> Plain:
        """The requirement that this form makes."""
        said = {name: self.cleaned_data[name] for name in SAID}
        own = {name: value for name, value in self.cleaned_data.items() if name not in (*SAID, OUT)}
        return {self.ASKS: self._asks(own), **said}

    def _asks(self, own: Plain) -> Any:
        return own


class RecallForm(RequirementForm):
    """Topics and their floors, in 100."""

    ASKS: ClassVar[str] = "recall"

    topics = _several(_("Topics"), [(topic.value, _(topic.value)) for topic in Topic])
    life_floor = _in_100(_("Each life question at least, in 100"))
    topic_mean_floor = _in_100(_("Each topic on average at least, in 100"), _("Empty: not asked."), required=False)
    most_a_topic = _whole(_("At most so many life questions, and as many others, of each topic"), required=False)
    most_life_questions = _whole(_("At most so many life questions in all"), required=False)

    @classmethod
    def _asked(cls, asked: Any) -> Plain:
        mean = asked["topic_mean_floor"]
        return {
            **asked,
            "life_floor": round(asked["life_floor"] * 100, 2),
            "topic_mean_floor": None if mean is None else round(mean * 100, 2),
        }

    def _asks(self, own: Plain) -> Plain:
        mean = own["topic_mean_floor"]
        floors = {"life_floor": own["life_floor"] / 100, "topic_mean_floor": None if mean is None else mean / 100}
        return {**own, **floors}


class SignOffForm(RequirementForm):
    """A practical task with its counts and windows."""

    ASKS: ClassVar[str] = "sign_off"

    task = forms.CharField(label=_("Practical task"), max_length=12)
    observations = _whole(_("Passed observations"))
    mentors = _whole(_("Different mentors"))
    days = _whole(_("Different days"))
    valid_months = _whole(_("None older than so many months"))
    done_within_days = _whole(_("Last done within so many days"), _("Empty: not asked."), required=False)
    beside_first = _whole(_("Before them, passed with the mentor beside"), least=0)


class CertificateForm(RequirementForm):
    """An outside certificate and its months."""

    ASKS: ClassVar[str] = "certificate"

    kind = forms.CharField(label=_("Certificate"), max_length=SHORT)
    valid_months = _whole(_("At most so many months from issue"))
    verify_months = _whole(_("Checked with its issuer every so many months"), _("Empty: not asked."), required=False)


class AppointedForm(RequirementForm):
    """A written appointment and its months."""

    ASKS: ClassVar[str] = "appointed"

    valid_months = _whole(_("At most so many months from its first day"))


class InstructedForm(RequirementForm):
    """Instruction and its months."""

    ASKS: ClassVar[str] = "instructed"

    months = _whole(_("Within so many months"))
    months_under_18 = _whole(_("Within so many months, under 18"))


class HoldsForm(RequirementForm):
    """Another job type that has to be held."""

    ASKS: ClassVar[str] = "holds"

    job_type = forms.CharField(label=_("Key of the job type"), max_length=20)

    @classmethod
    def _asked(cls, asked: Any) -> Plain:
        return {"job_type": asked}

    def _asks(self, own: Plain) -> str:
        return str(own["job_type"])


FORMS: Mapping[str, type[RequirementForm]] = {
    form.ASKS: form for form in (RecallForm, SignOffForm, CertificateForm, AppointedForm, InstructedForm, HoldsForm)
}
assert set(FORMS) == set(KINDS)


class ProposalForm(forms.Form):
    """From when the changed rule book is to hold, and why."""

    from_day = forms.DateField(
        label=_("First day"),
        help_text=_(
            "Today or later. What is stricter holds from then on by itself; what lets people gain, once confirmed then."
        ),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        input_formats=["%Y-%m-%d"],
    )
    reason = _text(_("Reason"), _("Why the rule book changes, in a few words."), longest=500)


class TextForm(forms.Form):
    """A whole rule book as YAML or JSON, pasted or as a file."""

    text = forms.CharField(
        label=_("Rule book as YAML or JSON"),
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false"}),
        required=False,
    )
    file = forms.FileField(label=_("Or a file"), required=False, allow_empty_file=False)


class ReasonForm(forms.Form):
    """Why a proposal is withdrawn."""

    reason = _text(_("Reason"), longest=500)

"""The forms about people: what is asked, and which answers can be read at all."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.utils.translation import gettext_lazy as _

from training.people.causes import WORDS, Cause
from training.people.checks import MOST_LETTERS
from training.people.models import Person, Workshop
from training.people.offers import Offer
from training.people.queries import people_of_group

Choices = list[tuple[str, Any]]


def choices_of(offers: Sequence[Offer]) -> Choices:
    """What is offered, by its key and in words."""
    return [(offer.key, _named(offer)) for offer in offers]


def _named(offer: Offer) -> str:
    return offer.title if offer.title.casefold() == offer.key.casefold() else f"{offer.key}: {offer.title}"


def day_field(label: Any, **more: Any) -> forms.DateField:
    """A day, chosen or typed as year-month-day."""
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, widget=widget, input_formats=["%Y-%m-%d"], **more)


def _reason(help_text: Any = "", **more: Any) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": 3})
    return forms.CharField(label=_("Reason"), max_length=MOST_LETTERS, widget=widget, help_text=help_text, **more)


class _Lines(forms.CharField):
    """One text a line."""

    def clean(self, value: Any) -> Any:
        return [line.strip() for line in super().clean(value).splitlines() if line.strip()]


def _lines(label: Any, help_text: Any) -> _Lines:
    widget = forms.Textarea(attrs={"rows": 3})
    return _Lines(label=label, required=False, max_length=4 * MOST_LETTERS, widget=widget, help_text=help_text)


def _several(label: Any, **more: Any) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(label=label, widget=forms.CheckboxSelectMultiple, **more)


class SignInForm(AuthenticationForm):
    """Username and password; says the same whatever was wrong."""

    error_messages = {
        "invalid_login": _("This name and password do not go together. Try again, or ask your manager."),
        "inactive": _("This name and password do not go together. Try again, or ask your manager."),
    }


class AppointForm(forms.Form):
    """For which job types, from when through when, and why."""

    job_types = _several(_("Job types"))
    from_day = day_field(_("First day"))
    through_day = day_field(_("Last day"), help_text=_("The appointment holds through this day."))
    vehicle_families = _lines(_("Vehicle families"), _("One a line, as the maker names them. None: all."))
    may_not = _lines(_("May not"), _("What is left out, one a line: opened packs, trucks, live measurement ..."))
    reason = _reason(_("What it rests on."))

    def __init__(self, *args: Any, offers: Sequence[Offer], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["job_types"].choices = choices_of(offers)  # type: ignore[attr-defined]


class AppointMentorForm(forms.Form):
    """Which practical tasks, from when through when, whether they work elsewhere, and why."""

    tasks = _several(_("Practical tasks"))
    from_day = day_field(_("First day"))
    through_day = day_field(_("Last day"), help_text=_("The appointment holds through this day."))
    outside = forms.BooleanField(
        label=_("Mentor from outside: works elsewhere"),
        required=False,
        help_text=_(
            "An outside certificate that names the task, and a second signature, stand in for a sign-off here."
        ),
    )
    reason = _reason()

    def __init__(self, *args: Any, offers: Sequence[Offer], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tasks"].choices = choices_of(offers)  # type: ignore[attr-defined]


class StandDownForm(forms.Form):
    """Why, and from what; of a medical one nothing more is asked."""

    cause = forms.ChoiceField(
        label=_("Cause"),
        choices=[("", _("Choose")), *((one.value, words) for one, words in WORDS.items())],
        help_text=_("After an incident two people have to release it. Of a medical one nothing more is kept or shown."),
    )
    reason = forms.CharField(
        label=_("In your words"),
        required=False,
        max_length=MOST_LETTERS,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("What happened. Write nothing of a medical one: none of it is kept."),
    )
    job_types = _several(_("Job types"), required=False, help_text=_("Tick none to stand down from every job type."))
    job_given_by = forms.ModelChoiceField(
        label=_("Who gave the job on which it happened, if anyone"),
        queryset=Person.objects.none(),
        required=False,
        help_text=_("That person cannot release it."),
    )

    def __init__(self, *args: Any, offers: Sequence[Offer], group_id: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["job_types"].choices = choices_of(offers)  # type: ignore[attr-defined]
        self.fields["job_given_by"].queryset = people_of_group(group_id)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if (
            cleaned.get("cause") == Cause.OTHER
            and not cleaned.get("reason", "").strip()
            and "reason" not in self.errors
        ):
            self.add_error("reason", _("Say why in a few words."))
        cleaned["job_types"] = cleaned.get("job_types") or None
        return cleaned


class ReleaseForm(forms.Form):
    """Why the stand-down may end; of a medical one nothing is asked."""

    reason = _reason()

    def __init__(self, *args: Any, medical: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if medical:
            self.fields["reason"] = forms.CharField(widget=forms.HiddenInput, required=False)


class CertificateForm(forms.Form):
    """An outside certificate that lies in front of the manager."""

    certificate = forms.ChoiceField(
        label=_("Certificate"),
        help_text=_("Of a medical one only that it is there and until when: no finding, no limits in words."),
    )
    issuer = forms.CharField(label=_("Issued by"), max_length=120)
    issued_on = day_field(_("Day of issue"))
    through_day = day_field(
        _("Last day"), required=False, help_text=_("As written on it; leave empty if there is none.")
    )
    tasks = _several(
        _("Practical tasks that its scope names"), required=False, help_text=_("Tick only what is written on it.")
    )

    def __init__(self, *args: Any, offers: Sequence[Offer], tasks: Sequence[Offer], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["certificate"].choices = [("", _("Choose")), *choices_of(offers)]  # type: ignore[attr-defined]
        self.fields["tasks"].choices = choices_of(tasks)  # type: ignore[attr-defined]


class InstructionForm(forms.Form):
    """Instruction given on site."""

    workshop = forms.ModelChoiceField(Workshop.objects.none(), label=_("Workshop"), empty_label=None)
    given_on = day_field(
        _("Given on"),
        help_text=_("The rule book says how often. Under 18 in Germany: every half-year (JArbSchG § 29)."),
    )
    about_what = forms.CharField(
        label=_("About what"), max_length=MOST_LETTERS, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, group_id: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["workshop"].queryset = Workshop.objects.filter(group_id=group_id)  # type: ignore[attr-defined]


class AgeForm(forms.Form):
    """Under 18 today, or not."""

    under_18 = forms.TypedChoiceField(
        label=_("Under 18 today?"),
        choices=[("yes", _("Yes, under 18")), ("no", _("No, 18 or over"))],
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
        help_text=_("Turning 18 changes nothing until it is entered here."),
    )

"""The forms about who belongs to the firm: somebody new, roles, the last day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django import forms
from django.core.validators import RegexValidator
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from training.people.forms import choices_of, day_field
from training.people.models import Person, RoleHeld
from training.people.offers import Offer
from training.people.opening import USERNAME
from training.people.own_password import is_own_password
from training.people.refusal import Refusal
from training.people.roster import HIGHEST_TALLY, LONGEST_NAME


class SignedForm(forms.Form):
    """Asks again for the password of whoever is signed in, after everything else could be read."""

    password = forms.CharField(
        label=_("Your password, again"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, viewer: Person, at: datetime, **more: Any) -> None:
        super().__init__(*args, **more)
        self.viewer, self.at = viewer, at
        self.order_fields([name for name in self.fields if name != "password"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        password = cleaned.pop("password", "")
        if self.errors:
            return cleaned
        try:
            if not is_own_password(self.viewer, password, at=self.at):
                self.add_error("password", _now("That is not your password. Nothing was recorded."))
        except Refusal as refusal:
            self.add_error("password", refusal.sentence)
        return cleaned


class RolesForm(SignedForm):
    """Which roles a person is to hold."""

    roles = forms.MultipleChoiceField(
        label=_("Roles"),
        choices=[
            (RoleHeld.Role.MANAGER, _("manager: appoints, releases, owns the rule book")),
            (RoleHeld.Role.AUTHOR, _("author: writes questions")),
            (RoleHeld.Role.CHECKER, _("checker: accepts questions and checks what others wrote")),
            (RoleHeld.Role.AUDITOR, _("auditor: reads any past moment")),
        ],
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_(
            "What is ticked is held from the next page on; what is not is taken. "
            "Who is a mentor, and who may take which job, are appointments and stand under the papers."
        ),
    )


class LeavingForm(SignedForm):
    """The last day with the firm, or that there is none after all."""

    last_day = day_field(
        _("Last day with the firm"),
        required=False,
        help_text=_(
            "From the day after it they cannot sign in, and what they are appointed for ends. "
            "How long their records are kept counts from it."
        ),
    )
    stays = forms.BooleanField(label=_("They stay: take the leaving day back"), required=False)

    def __init__(self, *args: Any, may_stay: bool, **more: Any) -> None:
        super().__init__(*args, **more)
        if not may_stay:
            del self.fields["stays"]

    def clean(self) -> dict[str, Any]:
        stays = self.cleaned_data.pop("stays", False)
        if bool(self.cleaned_data.get("last_day")) == stays and "last_day" not in self.errors:
            self.add_error("last_day", _now("Give the day, or tick that they stay; one of the two."))
        if stays:
            self.cleaned_data["last_day"] = None
        return super().clean()


class JoiningForm(forms.Form):
    """Somebody new at the workshop of the manager who enters them."""

    given_name = forms.CharField(label=_("Given name"), max_length=LONGEST_NAME)
    family_name = forms.CharField(label=_("Family name"), max_length=LONGEST_NAME)
    username = forms.CharField(
        label=_("Name to sign in with"),
        max_length=LONGEST_NAME,
        validators=[RegexValidator(rf"\A{USERNAME}\Z", _("Letters, digits and . @ + - _ only."))],
        widget=forms.TextInput(attrs={"autocapitalize": "none", "autocomplete": "off"}),
    )
    tally = forms.IntegerField(label=_("Tally number"), min_value=1, max_value=HIGHEST_TALLY)
    contract = forms.ChoiceField(label=_("Works here as"), choices=Person.Contract.choices, widget=forms.RadioSelect)
    under_18 = forms.TypedChoiceField(
        label=_("Under 18 today?"),
        choices=[("yes", _("Yes, under 18")), ("no", _("No, 18 or over"))],
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
    )
    works_towards = forms.MultipleChoiceField(
        label=_("Works towards"), required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, offers: Sequence[Offer], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["works_towards"].choices = choices_of(offers)  # type: ignore[attr-defined]

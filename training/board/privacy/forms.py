"""What is asked before a copy of records is given out, or before records are erased: who is sitting here, and why."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from training.people.checks import MOST_LETTERS
from training.people.models import Person
from training.people.own_password import is_own_password
from training.people.refusal import Refusal
from training.people.roster_forms import SignedForm


class CopyForm(forms.Form):
    """The password of whoever is signed in, again; a reason where the records are not their own."""

    why = forms.CharField(
        label=_("Who asked for it, and when"), max_length=MOST_LETTERS, widget=forms.Textarea(attrs={"rows": 3})
    )
    password = forms.CharField(
        label=_("Your password, again"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, viewer: Person, at: datetime, own: bool, **more: Any) -> None:
        super().__init__(*args, **more)
        self.viewer, self.at = viewer, at
        if own:
            del self.fields["why"]

    def clean_password(self) -> str:
        """Refuse when somebody else seems to sit before a screen that was left open."""
        password: str = self.cleaned_data["password"]
        try:
            if is_own_password(self.viewer, password, at=self.at):
                return password
        except Refusal as refusal:
            raise forms.ValidationError(refusal.sentence) from refusal
        raise forms.ValidationError(_("This is not your password. Nothing was given out."))


OVER, ALL = "over", "all"


class ErasureForm(SignedForm):
    """What of the records of somebody who has left is to go, and why; whoever confirms only signs."""

    what = forms.ChoiceField(label=_("Erase what"), widget=forms.RadioSelect)
    why = forms.CharField(
        label=_("Why"),
        max_length=MOST_LETTERS,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("Who asked, when."),
    )

    def __init__(self, *args: Any, confirms: bool, over: int, free: int, **more: Any) -> None:
        super().__init__(*args, **more)
        if confirms:
            del self.fields["what"], self.fields["why"]
            return
        choices = [(OVER, _now("%(count)d records whose time is over") % {"count": over})] if over else []
        if free > over:
            choices.append((ALL, _now("%(count)d: all that need not stay, since they asked") % {"count": free}))
        self.fields["what"].choices = choices  # type: ignore[attr-defined]
        if over:
            self.initial = {"what": OVER, "why": _now("Kept as long as they are needed, and no longer.")}

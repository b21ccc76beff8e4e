"""What withdrawing a paper asks for."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from training.people.checks import MOST_LETTERS


class WithdrawForm(forms.Form):
    """From which day on it is void, and why."""

    from_day = forms.DateField(
        label=_("Void from this day on"),
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text=_("A day in the past where it was void all along. What was signed since then falls with it."),
    )
    reason = forms.CharField(label=_("Why"), max_length=MOST_LETTERS, widget=forms.Textarea(attrs={"rows": 3}))

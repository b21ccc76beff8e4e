"""The forms of a dispute: what is wrong, and how it is settled."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from training.people.checks import MOST_LETTERS


def _text(label: Any, help_text: Any) -> forms.CharField:
    widget = forms.Textarea(attrs={"rows": 3})
    return forms.CharField(label=label, max_length=MOST_LETTERS, widget=widget, help_text=help_text)


class DisputeForm(forms.Form):
    """What is wrong with the record."""

    what = _text(
        _("What is wrong with it"), _("In a short sentence. The manager who settles it reads this and the record.")
    )


class SettleForm(forms.Form):
    """Whether the disputed record stands, and why."""

    stands = forms.TypedChoiceField(
        label=_("The disputed record"),
        choices=[("yes", _("stands")), ("no", _("is withdrawn: it counts no more, for nobody"))],
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
    )
    reason = _text(_("Why"), _("The person reads this."))

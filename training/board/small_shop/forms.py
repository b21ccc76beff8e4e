"""What the small-shop exception asks for when it is proposed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from training.people.checks import MOST_LETTERS
from training.people.forms import day_field


class ProposeForm(forms.Form):
    """For all practical tasks or for some, from when through when, and why."""

    which = forms.ChoiceField(
        label=_("For which practical tasks"),
        choices=[("all", _("All")), ("some", _("Only those ticked below"))],
        widget=forms.RadioSelect,
    )
    tasks = forms.MultipleChoiceField(label=_("Practical tasks"), widget=forms.CheckboxSelectMultiple, required=False)
    from_day = day_field(
        _("First day"), help_text=_("On a later day than today it gives nothing until it is put into force then.")
    )
    through_day = day_field(_("Last day"), help_text=_("At most 12 months after the first."))
    reason = forms.CharField(
        label=_("Reason"),
        max_length=MOST_LETTERS,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("Why there is no second mentor, and who comes from outside."),
    )

    def __init__(self, *args: Any, tasks: Mapping[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tasks"].choices = [(key, title) for key, title in tasks.items()]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        which, tasks = cleaned.pop("which", ""), cleaned.get("tasks", [])
        if which == "all" and tasks:
            self.add_error("which", _("You ticked single tasks as well. Choose all, or only those."))
        if which == "some" and not tasks:
            self.add_error("tasks", _("Choose at least one."))
        return {**cleaned, "tasks": None if which == "all" else tasks}

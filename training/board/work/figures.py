"""Figures as people type them: a number with its unit, and both with a label of their own."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from django import forms
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

VOLTS: Final = (("1", "V"), ("0.001", "mV"), ("1000", "kV"))
OHMS: Final = (("1000000", "Mohm"), ("1000", "kohm"), ("1", "ohm"), ("1000000000", "Gohm"))


class WithUnit(forms.MultiWidget):
    """A figure and the unit that the instrument shows."""

    use_fieldset = False

    def __init__(self, units: Sequence[tuple[str, str]]) -> None:
        figure = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        super().__init__([figure, forms.Select(choices=units, attrs={"aria-label": _("Unit")})])

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        """Figure and unit abreast."""
        return format_html('<div class="number">{}</div>', super().render(name, value, attrs, renderer))

    def id_for_label(self, id_: str) -> str:
        """The label belongs to the figure."""
        return f"{id_}_0" if id_ else id_

    def decompress(self, value: Any) -> list[Any]:
        """Nothing is shown before something was typed."""
        return [None, None]


class FigureField(forms.MultiValueField):
    """A figure in the base unit, whatever unit it was typed in; empty is nothing."""

    def __init__(self, units: Sequence[tuple[str, str]], *, required: bool = False, **kwargs: Any) -> None:
        fields = (forms.CharField(required=False, max_length=20), forms.ChoiceField(choices=units, required=False))
        super().__init__(fields, widget=WithUnit(units), required=required, require_all_fields=False, **kwargs)

    def compress(self, data_list: Any) -> float | None:
        """The figure times its unit; text that is no figure is a refusal."""
        text = (data_list[0] or "").strip().replace(",", ".") if data_list else ""
        if not text:
            if self.required:  # the unit alone is no answer
                raise forms.ValidationError(self.error_messages["required"], code="required")
            return None
        try:
            value = float(text) * float(data_list[1] or "1")
        except ValueError as wrong:
            raise forms.ValidationError(_("Give a number, such as 0.4.")) from wrong
        if not math.isfinite(value):
            raise forms.ValidationError(_("Give a number, such as 0.4."))
        return value

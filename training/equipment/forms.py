"""Reading what is entered about kit: the label of a new item part by part, days, words and results."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, Final

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.equipment.label_parts import PARTS, Label, Part, Sort
from training.web.errors import BadPost

MOST_NUMBERS = 12


class NumbersField(forms.CharField):
    """Several numbers with commas or spaces between them."""

    def to_python(self, value: Any) -> Any:
        """The numbers as a list of floats."""
        text = super().to_python(value)
        pieces = [piece for piece in re.split(r"[,;\s]+", text or "") if piece]
        try:
            return [float(piece) for piece in pieces[: MOST_NUMBERS + 1]]
        except ValueError as wrong:
            raise forms.ValidationError(_("Give numbers with commas between them, such as 250, 500.")) from wrong


class AddForm(forms.Form):
    """A new item: its number on the register, a title, and what its label says."""

    ident = forms.CharField(
        label=gettext_lazy("Number on the register"), max_length=20, help_text=gettext_lazy("As marked on the item.")
    )
    title = forms.CharField(label=gettext_lazy("What it is"), max_length=120)

    def __init__(self, *args: Any, kind: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.parts = PARTS[kind]
        for part in self.parts:
            self.fields[part_field(part.name)] = _FIELDS[part.sort](part)

    def label_read(self) -> Label:
        """The label as ``add_item`` takes it; what was left empty is left out."""
        found = {part.name: self.cleaned_data.get(part_field(part.name)) for part in self.parts}
        return {name: value for name, value in found.items() if value not in (None, "", [])}

    def tell(self, faults: Mapping[str, str]) -> None:
        """Put the faults that ``add_item`` found beside their fields."""
        for name, sentence in faults.items():
            field = part_field(name) if part_field(name) in self.fields else name
            self.add_error(field if field in self.fields else None, sentence)


def part_field(name: str) -> str:
    """The field's name of a part of the label."""
    return f"label_{name}"


def _words(part: Part) -> list[tuple[str, str]]:
    return [(word, word) for word in part.words]


def _unit(part: Part) -> Any:
    return gettext_lazy("In %(unit)s.") % {"unit": part.unit}


_FIELDS: Final[Mapping[Sort, Callable[[Part], forms.Field]]] = {
    Sort.NUMBER: lambda part: forms.FloatField(
        label=part.title, required=part.required, help_text=_unit(part), widget=forms.NumberInput(attrs={"step": "any"})
    ),
    Sort.NUMBERS: lambda part: NumbersField(
        label=part.title, required=part.required, max_length=120, help_text=_unit(part)
    ),
    Sort.YES_NO: lambda part: forms.BooleanField(label=part.title, required=False),
    Sort.ONE_OF: lambda part: forms.ChoiceField(
        label=part.title, required=part.required, choices=[("", gettext_lazy("Choose")), *_words(part)]
    ),
    Sort.SOME_OF: lambda part: forms.MultipleChoiceField(
        label=part.title, required=part.required, choices=_words(part), widget=forms.CheckboxSelectMultiple
    ),
    Sort.TEXT: lambda part: forms.CharField(label=part.title, required=part.required, max_length=60),
}


def read_day(post: QueryDict, name: str) -> date:
    """The day in a posted field. Raises ``BadPost`` when there is none or it is no date."""
    try:
        return date.fromisoformat(post.get(name, ""))
    except ValueError as wrong:
        raise BadPost(_("Give the day as a date, such as 2026-03-14. Nothing was recorded.")) from wrong


def read_yes_no(post: QueryDict, name: str) -> bool:
    """A posted yes or no. Raises ``BadPost`` for anything else."""
    said = post.get(name, "")
    if said not in ("yes", "no"):
        raise BadPost(_("Say whether it passed: yes or no. Nothing was recorded."))
    return said == "yes"


def read_numbers(post: QueryDict, name: str) -> list[int]:
    """Posted row numbers, each once. Raises ``BadPost`` when there is none or one is no number."""
    said = post.getlist(name)
    if not said or not all(each.isdecimal() and len(each) < 19 for each in said):
        raise BadPost(_("Tick what you have checked. Nothing was recorded."))
    return list(dict.fromkeys(map(int, said)))

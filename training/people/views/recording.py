"""One way from a form that was posted to a record."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from training.people.refusal import Refusal
from training.records.actions import Refused


def is_recorded(form: Any, act: Callable[..., Any], **more: Any) -> bool:
    """Whether the form was posted, could be read, and was recorded; what was refused is said beside its field."""
    if not form.is_bound or not form.is_valid():
        return False
    try:
        act(**more, **form.cleaned_data)
    except (Refusal, Refused) as refusal:
        field = getattr(refusal, "field", "")
        form.add_error(field if field in form.fields else None, str(refusal))
    return bool(form.is_valid())

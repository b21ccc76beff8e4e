"""What the label of each kind of kit says: the parts that its fitness rule looks at, and what may stand in each."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any, Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.core.trade import gloves, meters, tools

if TYPE_CHECKING:
    from django_stubs_ext import StrOrPromise

Label = dict[str, Any]
LONGEST_TEXT = 60


class Sort(StrEnum):
    """What a part of a label is."""

    NUMBER = "number"
    NUMBERS = "numbers"
    YES_NO = "yes or no"
    ONE_OF = "one of"
    SOME_OF = "some of"
    TEXT = "text"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part of a label. ``words`` are what may stand there for ONE_OF and SOME_OF; ``unit`` is that of numbers."""

    name: str
    title: StrOrPromise
    sort: Sort
    words: tuple[str, ...] = ()
    unit: str = ""
    required: bool = True


class BadLabel(ValueError):
    """A label that cannot be read; ``faults`` holds a sentence for each part at fault, by the part's name."""

    def __init__(self, faults: Mapping[str, str]) -> None:
        super().__init__(" ".join(faults.values()))
        self.faults = dict(faults)


_CATEGORY = Part(
    name="category", title=gettext_lazy("Measurement category (CAT)"), sort=Sort.ONE_OF, words=meters.CATEGORIES
)
_RATED_V = Part(name="rated_v", title=gettext_lazy("Rated voltage"), sort=Sort.NUMBER, unit="V")
_RATED_KG = Part(name="rated_kg", title=gettext_lazy("Rated load"), sort=Sort.NUMBER, unit="kg")

PARTS: Final[Mapping[str, tuple[Part, ...]]] = {
    "gloves": (
        Part(name="class", title=gettext_lazy("Glove class"), sort=Sort.ONE_OF, words=gloves.CLASSES),
        Part(name="composite", title=gettext_lazy("Composite glove"), sort=Sort.YES_NO, required=False),
        Part(name="protectors", title=gettext_lazy("Leather protectors with it"), sort=Sort.YES_NO, required=False),
        Part(name="cuff_gap_mm", title=gettext_lazy("Cuff gap"), sort=Sort.NUMBER, unit="mm", required=False),
    ),
    "meter": (_CATEGORY, _RATED_V),
    "leads": (
        _CATEGORY,
        _RATED_V,
        Part(name="bare_tip_mm", title=gettext_lazy("Bare metal at the tips"), sort=Sort.NUMBER, unit="mm"),
    ),
    "proving unit": (
        Part(name="source", title=gettext_lazy("Kind of source"), sort=Sort.ONE_OF, words=tuple(meters.SOURCES)),
        Part(name="gives", title=gettext_lazy("Gives"), sort=Sort.SOME_OF, words=("DC", "AC")),
    ),
    "insulation tester": (
        _CATEGORY,
        _RATED_V,
        Part(name="test_voltages_v", title=gettext_lazy("Test voltages"), sort=Sort.NUMBERS, unit="V"),
    ),
    "insulated tools": (
        Part(name="marks", title=gettext_lazy("Marks on the tools"), sort=Sort.SOME_OF, words=tools.MARKS),
    ),
    "visor": (
        Part(name="marking", title=gettext_lazy("EN 166 marking"), sort=Sort.TEXT),
        Part(name="arc_class", title=gettext_lazy("Has an arc class"), sort=Sort.YES_NO, required=False),
    ),
    "mat": (
        Part(name="class", title=gettext_lazy("Class of the mat"), sort=Sort.ONE_OF, words=("0", "1", "2", "3", "4")),
    ),
    "hook": (_RATED_V,),
    "lock": (
        Part(name="personal", title=gettext_lazy("One person's own lock"), sort=Sort.YES_NO, required=False),
        Part(name="only_key", title=gettext_lazy("No second key opens it"), sort=Sort.YES_NO, required=False),
    ),
    "lift": (
        _RATED_KG,
        Part(name="arm_kg", title=gettext_lazy("Plate of one arm"), sort=Sort.NUMBER, unit="kg", required=False),
    ),
    "lift table": (
        _RATED_KG,
        Part(name="table_kg", title=gettext_lazy("Its own mass"), sort=Sort.NUMBER, unit="kg"),
        Part(name="half_base_m", title=gettext_lazy("Half the narrow side of its base"), sort=Sort.NUMBER, unit="m"),
    ),
}

# the one test of each kind that answers notes and starts its clock
TESTS: Final[Mapping[str, str]] = {
    "gloves": "electrical test",
    "meter": "calibration",
    "insulation tester": "calibration",
    "lift": "thorough examination",
    "lift table": "yearly check",
    "hook": "yearly check",
    "mat": "yearly check",
    "leads": "inspection",
    "proving unit": "inspection",
    "insulated tools": "inspection",
    "visor": "inspection",
    "lock": "inspection",
}


def read_label(kind: str, label: Mapping[str, object]) -> Label:
    """The label, checked part by part; ``BadLabel`` names every part that is missing, unknown or cannot be read."""
    parts = {part.name: part for part in PARTS.get(kind, ())}
    if not parts:
        raise BadLabel({"kind": _("There is no kit of this kind: %(kind)s.") % {"kind": kind}})
    faults = {name: _("This kit has no %(name)s on its label.") % {"name": name} for name in label if name not in parts}
    read: Label = {}
    for part in parts.values():
        given = label.get(part.name)
        if _nothing(given):
            if part.required:
                faults[part.name] = _("%(part)s is missing.") % {"part": part.title}
        elif _CHECKS[part.sort](given, part):
            read[part.name] = given
        else:
            faults[part.name] = _must_be(part)
    if faults:
        raise BadLabel(faults)
    return read


def _nothing(given: object) -> bool:
    return given is None or given == "" or given == []


def _is_number(given: object) -> bool:
    return isinstance(given, (int, float)) and not isinstance(given, bool) and math.isfinite(given) and given > 0


def _all_of(given: object, fits: Callable[[object], bool]) -> bool:
    return isinstance(given, list) and all(fits(each) for each in given) and len(given) == len(set(given))


_CHECKS: Final[Mapping[Sort, Callable[[object, Part], bool]]] = {
    Sort.NUMBER: lambda given, part: _is_number(given),
    Sort.NUMBERS: lambda given, part: _all_of(given, _is_number),
    Sort.YES_NO: lambda given, part: isinstance(given, bool),
    Sort.ONE_OF: lambda given, part: isinstance(given, str) and given in part.words,
    Sort.SOME_OF: lambda given, part: _all_of(given, lambda each: isinstance(each, str) and each in part.words),
    Sort.TEXT: lambda given, part: isinstance(given, str) and 0 < len(given.strip()) <= LONGEST_TEXT,
}


def _must_be(part: Part) -> str:
    said = {"part": part.title, "unit": part.unit, "words": ", ".join(part.words), "most": LONGEST_TEXT}
    return {
        Sort.NUMBER: _("%(part)s: give a number above 0, in %(unit)s."),
        Sort.NUMBERS: _("%(part)s: give numbers above 0, in %(unit)s, each once."),
        Sort.YES_NO: _("%(part)s: say yes or no."),
        Sort.ONE_OF: _("%(part)s: give one of %(words)s."),
        Sort.SOME_OF: _("%(part)s: give some of %(words)s, each once."),
        Sort.TEXT: _("%(part)s: give up to %(most)d characters."),
    }[part.sort] % said

"""Kit for tests: a bare row that no record stands behind, and items put on the register, tested and issued."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from itertools import count
from typing import Any

import factory

from tests.factories.people import WorkshopFactory
from training.core.trade import tools
from training.core.trade.calendar import local_day
from training.equipment import actions
from training.equipment.models import KitItem
from training.people.models import Person, Workshop

# a label of each kind with which the item is fit for 450 V DC and 300 V AC
LABELS: Mapping[str, dict[str, Any]] = {
    "gloves": {"class": "0", "composite": False, "protectors": True, "cuff_gap_mm": 20.0},
    "meter": {"category": "III", "rated_v": 1000.0},
    "leads": {"category": "IV", "rated_v": 1000.0, "bare_tip_mm": 2.0},
    "proving unit": {"source": "proving unit", "gives": ["DC", "AC"]},
    "insulation tester": {"category": "III", "rated_v": 1000.0, "test_voltages_v": [250.0, 500.0]},
    "insulated tools": {"marks": list(tools.MARKS)},
    "visor": {"marking": "8 B T", "arc_class": True},
    "mat": {"class": "0"},
    "hook": {"rated_v": 1000.0},
    "lock": {"personal": True, "only_key": True},
    "lift": {"rated_kg": 4000.0},
    "lift table": {"rated_kg": 1000.0, "table_kg": 400.0, "half_base_m": 0.6},
}
_idents = count(1)


class KitItemFactory(factory.django.DjangoModelFactory[KitItem]):
    """A row alone, as if written past the records: never in service."""

    class Meta:
        model = KitItem

    workshop = factory.SubFactory(WorkshopFactory)
    ident = factory.Sequence(lambda n: f"ROW-{n}")
    kind = "gloves"
    title = "Rubber gloves"
    label = factory.LazyAttribute(lambda row: LABELS[row.kind])


def added(workshop: Workshop, kind: str, *, by: Person, at: datetime, **label: Any) -> KitItem:
    """An item just put on the register, with some of a good label changed."""
    return actions.add_item(
        workshop=workshop,
        kind=kind,
        ident=f"K-{next(_idents)}",
        title=f"Good {kind}",
        label=LABELS[kind] | label,
        by=by,
        at=at,
    )


def in_service(
    workshop: Workshop, kind: str, *, by: Person, at: datetime, tested_on: date | None = None, **label: Any
) -> KitItem:
    """An item that passed its test and was issued on the day of ``at``, or the days given."""
    item = added(workshop, kind, by=by, at=at, **label)
    day = tested_on or local_day(at, workshop.zone)
    actions.record_test(item=item, tested_on=day, passed=True, by=by, at=at)
    actions.issue(item=item, issued_on=day, by=by, at=at)
    return item

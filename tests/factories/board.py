"""Stored clearances for tests."""

from __future__ import annotations

from datetime import UTC, datetime

import factory

from tests.factories.people import PersonFactory
from training.board.models import StoredClearance
from training.board.queries import no_rule_book
from training.core.permission.mapping import as_mapping

COMPUTED_AT = datetime(2026, 3, 2, 9, tzinfo=UTC)


class StoredClearanceFactory(factory.django.DjangoModelFactory[StoredClearance]):
    """Not cleared, worked out at record 0; the decision says the same."""

    class Meta:
        model = StoredClearance

    person = factory.SubFactory(PersonFactory)
    workshop = factory.SelfAttribute("person.workshop")
    job_type = "A"
    mode = "not cleared"
    decision = factory.LazyAttribute(
        lambda row: as_mapping(no_rule_book(row.job_type, row.computed_at, row.computed_number))
    )
    computed_number = 0
    computed_at = COMPUTED_AT

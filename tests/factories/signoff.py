"""Observations being made, for tests."""

from __future__ import annotations

from datetime import UTC, datetime

import factory

from tests.factories.bank import TaskVersionFactory
from tests.factories.people import PersonFactory
from training.signoff.models import Draft

STARTED_AT = datetime(2026, 3, 2, 9, tzinfo=UTC)


class DraftFactory(factory.django.DjangoModelFactory[Draft]):
    """Begun, nothing noted yet; the task has the two steps of its factory."""

    class Meta:
        model = Draft

    person = factory.SubFactory(PersonFactory)
    workshop = factory.SelfAttribute("person.workshop")
    mentor = factory.SubFactory(PersonFactory, workshop=factory.SelfAttribute("..workshop"))
    task = factory.SubFactory(TaskVersionFactory, group=factory.SelfAttribute("..workshop.group"))
    started_at = STARTED_AT
    steps = factory.LazyFunction(lambda: ["", ""])

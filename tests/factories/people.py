"""Groups, workshops and people for tests. Sequences, so that no two are alike."""

from __future__ import annotations

from datetime import UTC, date, datetime

import factory

from tests.factories.records import ChainFactory
from training.people.models import Person, RoleHeld, Workshop, WorkshopGroup, WorksTowards

PASSWORD = "bright copper kettle"
READ_AT = datetime(2026, 1, 1, 8, tzinfo=UTC)


class WorkshopGroupFactory(factory.django.DjangoModelFactory[WorkshopGroup]):
    class Meta:
        model = WorkshopGroup

    name = factory.Sequence(lambda n: f"Group {n}")
    slug = factory.Sequence(lambda n: f"group-{n}")
    chain = factory.SubFactory(ChainFactory)


class WorkshopFactory(factory.django.DjangoModelFactory[Workshop]):
    class Meta:
        model = Workshop

    group = factory.SubFactory(WorkshopGroupFactory)
    slug = factory.Sequence(lambda n: f"site-{n}")
    name = factory.Sequence(lambda n: f"Site {n}")
    zone = "Europe/Berlin"
    regime = Workshop.Regime.EU
    opened_on = date(2025, 1, 1)


class PersonFactory(factory.django.DjangoModelFactory[Person]):
    """Somebody who has read the cautions and can sign in with PASSWORD."""

    class Meta:
        model = Person
        skip_postgeneration_save = True

    workshop = factory.SubFactory(WorkshopFactory)
    group = factory.SelfAttribute("workshop.group")
    username = factory.Sequence(lambda n: f"person{n}")
    given_name = factory.Sequence(lambda n: f"Given{n}")
    family_name = factory.Sequence(lambda n: f"Family{n}")
    tally = factory.Sequence(lambda n: n + 1)
    contract = Person.Contract.TECHNICIAN
    cautions_read_at = READ_AT
    password = factory.django.Password(PASSWORD)


class ManagerFactory(PersonFactory):
    """A manager of the group."""

    contract = Person.Contract.OFFICE
    role = factory.RelatedFactory("tests.factories.people.RoleHeldFactory", factory_related_name="person")


class RoleHeldFactory(factory.django.DjangoModelFactory[RoleHeld]):
    class Meta:
        model = RoleHeld

    person = factory.SubFactory(PersonFactory)
    role = RoleHeld.Role.MANAGER


class WorksTowardsFactory(factory.django.DjangoModelFactory[WorksTowards]):
    class Meta:
        model = WorksTowards

    person = factory.SubFactory(PersonFactory)
    job_type = "A"

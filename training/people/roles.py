"""Roles given and taken by a manager: each change is a record, and holds for the next page that is asked for."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from training.people import checks, facts
from training.people.models import Person, RoleHeld
from training.people.queries import roles_of
from training.people.refusal import Refusal
from training.people.writing import lock
from training.records.actions import append
from training.records.models import Record


@transaction.atomic
def set_roles(*, person: Person, roles: Collection[str], by: Person, at: datetime) -> list[Record]:
    """Give and take roles until the person holds just these; one record for each that changes.

    Nobody changes their own, so whoever takes the role of another manager stays one: the last is never taken.
    """
    lock(person)  # before the look at who is a manager: of two who take each other's role only one can
    checks.entered_by_manager(person, by)
    held, wanted = roles_of(person), frozenset(roles)
    if not wanted <= set(RoleHeld.Role.values):
        raise Refusal(_("There is no such role. Choose from the list."), "roles")
    if held == wanted:
        raise Refusal(_("%(name)s holds just these roles already.") % {"name": person.full_name}, "roles")
    RoleHeld.objects.filter(person=person, role__in=held - wanted).delete()
    RoleHeld.objects.bulk_create(RoleHeld(person=person, role=role) for role in sorted(wanted - held))
    return [
        append(
            facts.RoleChanged(role=role, held=role in wanted, by=by.key),
            chain_id=person.group.chain_id, about=person.key, at=at,
        )
        for role in sorted(held ^ wanted)
    ]  # fmt: skip

"""What the menu on every page needs to know of the person who is signed in."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from training.people.facts import MentorAppointed
from training.people.models import Person, RoleHeld
from training.records.models import Record


def who(request: HttpRequest) -> dict[str, Any]:
    """Roles and mentor appointment, for the menu only: what a page allows is decided by the page."""
    person = request.user
    if not isinstance(person, Person):
        return {}
    roles = set(RoleHeld.objects.filter(person=person).values_list("role", flat=True))
    mentor = Record.objects.filter(chain_id=person.group.chain_id, about=person.key, kind=MentorAppointed.kind).exists()
    return {
        "menu_manager": RoleHeld.Role.MANAGER in roles,
        "menu_past": bool(roles & {RoleHeld.Role.MANAGER, RoleHeld.Role.AUDITOR}),
        "menu_checker": RoleHeld.Role.CHECKER in roles,
        "menu_mentor": mentor,
    }

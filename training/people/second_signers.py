"""Who may put the second signature where a workshop asks for two: another manager, or whom its opening names."""

from __future__ import annotations

from training.people.facts import WorkshopOpened
from training.people.models import Person, Workshop
from training.people.queries import is_manager
from training.records.queries import facts_of


def second_signers_named(workshop: Workshop) -> frozenset[str]:
    """The keys of those who signed second when the workshop opened."""
    rows = facts_of([WorkshopOpened], chain_id=workshop.group.chain_id, about=workshop.key)
    return frozenset(row.fact.second for row in rows if row.fact is not None)


def may_sign_second(person: Person, workshop: Workshop) -> bool:
    """Whether somebody, still with the firm, may sign second at a workshop; what they sign may leave them out."""
    of_group = person.is_active and person.group_id == workshop.group_id
    return of_group and (is_manager(person) or person.key in second_signers_named(workshop))


def signs_second(person: Person) -> bool:
    """Whether somebody may sign second at any workshop of their group."""
    workshops = Workshop.objects.filter(group_id=person.group_id).select_related("group")
    return is_manager(person) or any(may_sign_second(person, workshop) for workshop in workshops)

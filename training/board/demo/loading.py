"""Loads the demo group: months of history up to a given moment, in one transaction, then what is worked out from it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime
from random import Random

from django.db import transaction

from training.board.actions import work_out
from training.board.demo import drilling, jobs, kit, papers, practice, timeline
from training.board.demo.house import House, build
from training.board.demo.reading import read_cast, read_story
from training.drill.actions import refold
from training.people.models import WorkshopGroup
from training.records.models import Record

SEED = "quayside"


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """What came of it: the house, and how many records of each kind."""

    house: House
    kinds: dict[str, int]

    @property
    def records(self) -> int:
        """All records of the chain."""
        return sum(self.kinds.values())


def is_loaded() -> bool:
    """Whether the demo group exists."""
    return WorkshopGroup.objects.filter(slug=read_cast().group.slug).exists()


def load_history(*, at: datetime) -> Loaded:
    """Make the group and write its history up to ``at``. Raises where a file is wrong; then nothing is written."""
    with transaction.atomic():
        house = build(read_story(), at)
        events = [
            *papers.events(house),
            *practice.events(house, Random(f"{SEED}/practice")),
            *kit.events(house),
            *drilling.events(house, SEED),
        ]
        timeline.write(events, chain_id=house.group.chain_id)
        jobs.plan_and_start(house)
    kinds = Record.objects.filter(chain_id=house.group.chain_id).values_list("kind", flat=True)
    return Loaded(house=house, kinds=dict(Counter(kinds)))


def finish(house: House, *, at: datetime) -> int:
    """Fold recall and work out all clearances, so that the first board is complete; how many clearances there are."""
    for username in house.story.drills:
        refold(person=house.people[username])
    return sum(work_out(workshop=workshop, people=None, at=at) for workshop in house.workshops.values())


def sign_ins() -> list[dict[str, str]]:
    """One sign-in per role, for whoever runs the demo."""
    cast = read_cast()
    return [
        {"role": one.signs_in_as, "username": one.username, "password": cast.group.password}
        for one in cast.people
        if one.signs_in_as
    ]

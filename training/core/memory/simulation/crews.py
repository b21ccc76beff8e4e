"""A scenario run over a whole crew: who seeks what, how many questions count, by which way they are asked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final, TypeAlias

import numpy as np
from numpy.random import Generator

from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.simulation.asked import Asks, QuestionShape, Work, work_of
from training.core.memory.simulation.crew import Member, Spread, crew_of
from training.core.memory.simulation.months import Months, months_of
from training.core.memory.simulation.own_model import OwnTraces, own_model_traces
from training.core.memory.simulation.ways import OURS

WEEKS: Final = 78
"""Eighteen months."""
MINUTES_A_SHIFT: Final = 5.0
Each: TypeAlias = Callable[[Callable[["Turn"], Months], Iterable["Turn"]], Iterable[Months]]
"""``map``, or that of a pool of processes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Role:
    """A kind of work: its share of the crew and the job types it asks for, nearest first."""

    title: str
    share: float
    sought: tuple[Asks, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """One line of the table. ``own_model``: the crew forgets as our model says instead of by power-law traces."""

    title: str
    roles: tuple[Role, ...]
    people: int
    way: str = OURS
    weeks: int = WEEKS
    minutes: float = MINUTES_A_SHIFT
    spread: Spread = Spread()
    own_model: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Turn:
    """One person's turn, all that ``months_of`` needs."""

    member: Member
    rng: Generator
    truth: OwnTraces | None


def counting(
    roles: Iterable[Role], *, life_floor: float, mean_floor: float | None, per_topic: int | None
) -> tuple[Role, ...]:
    """Return the roles with other floors, and with so many life and so many other questions counting in each topic.

    ``per_topic`` None: all of them. ``mean_floor`` None: life questions only.
    """
    return tuple(
        replace(role, sought=tuple(_counted(asks, life_floor, mean_floor, per_topic) for asks in role.sought))
        for role in roles
    )


def run_crew(
    scenario: Scenario,
    bank: Sequence[QuestionShape],
    seed: int,
    *,
    each: Each = map,
    parameters: Parameters = DEFAULT,
) -> list[Months]:
    """Return the months of everybody in a scenario. The same seed gives the same people to every way of asking."""
    rng = np.random.default_rng(seed)
    shares = [role.share for role in scenario.roles]
    crew = crew_of(scenario.people, len(bank), scenario.weeks, shares, rng, scenario.spread)
    works = [work_of(bank, role.sought) for role in scenario.roles]
    one = partial(_one, bank=bank, works=works, way=scenario.way, minutes=scenario.minutes, parameters=parameters)
    return list(each(one, _turns(scenario, crew, len(bank), rng, parameters)))


def _turns(
    scenario: Scenario, crew: Sequence[Member], questions: int, rng: Generator, parameters: Parameters
) -> Iterator[Turn]:
    easiness = parameters.sd_easiness * rng.standard_normal(questions)
    for member, own in zip(crew, rng.spawn(len(crew)), strict=True):
        truth = own_model_traces(questions, easiness, own, parameters) if scenario.own_model else None
        yield Turn(member, own, truth)


def _one(
    turn: Turn,
    *,
    bank: Sequence[QuestionShape],
    works: Sequence[Work],
    way: str,
    minutes: float,
    parameters: Parameters,
) -> Months:
    work = works[turn.member.work]
    return months_of(turn.member, bank, work, way, minutes, turn.rng, truth=turn.truth, parameters=parameters)


def _counted(asks: Asks, life_floor: float, mean_floor: float | None, per_topic: int | None) -> Asks:
    raised = replace(asks, life_floor=life_floor, mean_floor=None if asks.mean_floor is None else mean_floor)
    return replace(raised, most_life=None, most_a_topic=per_topic)

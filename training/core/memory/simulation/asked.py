"""What is asked of a simulated person: the questions of a bank, the job types sought, and which questions count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from training.core.memory.simulation.truth import Places


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionShape:
    """All that the simulation needs of one question."""

    name: str
    topic: str
    consequence: str
    chance_floor: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Asks:
    """What one job type asks of recall, as the rule book says it; ``mean_floor`` None: life questions only.

    ``most_a_topic`` keeps so many life questions, and as many others, of each topic.
    """

    job_type: str
    topics: tuple[str, ...]
    life_floor: float
    mean_floor: float | None
    most_life: int | None = None
    most_a_topic: int | None = None
    share_answered: float = 0.8


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One job type's questions that count: ``life`` places and, topic by topic, those of the mean and the others."""

    asks: Asks
    life: Places
    by_topic: tuple[Places, ...]
    others: tuple[Places, ...]

    @property
    def counted(self) -> Places:
        """Every question that counts, ascending."""
        return np.unique(np.concatenate([self.life, *self.by_topic]))


@dataclass(frozen=True, slots=True, eq=False)
class Work:
    """The parts a person's work asks for, nearest first, and per question the floor (0: not counted) and the rank.

    ``offered`` are the questions that count for any part, ``others`` the rest of their topics, ``life_of_topics`` the
    life questions among all of these: an unsafe answer to any of them blocks.
    """

    parts: tuple[Part, ...]
    offered: Places
    others: Places
    life_of_topics: Places
    floor: NDArray[np.float64]
    rank: NDArray[np.intp]

    @property
    def life(self) -> Places:
        """The life questions that count for any part, ascending."""
        return np.unique(np.concatenate([part.life for part in self.parts]))


def work_of(bank: Sequence[QuestionShape], sought: Sequence[Asks]) -> Work:
    """Return what the sought job types, nearest first, ask of a bank; ValueError when they ask for nothing."""
    parts = tuple(_part_of(bank, asks) for asks in sought)
    floor, rank = np.zeros(len(bank)), np.full(len(bank), len(parts), dtype=np.intp)
    for place, part in reversed(list(enumerate(parts))):
        rank[part.counted] = place
        if part.asks.mean_floor is not None:
            for topic in part.by_topic:
                floor[topic] = np.maximum(floor[topic], part.asks.mean_floor)
        floor[part.life] = np.maximum(floor[part.life], part.asks.life_floor)
    offered = np.flatnonzero(rank < len(parts))
    if not len(offered):
        raise ValueError("the job types sought ask for no question of this bank")
    topics = {bank[place].topic for place in offered.tolist()}
    of_topics = [place for place, question in enumerate(bank) if question.topic in topics]
    others = _places([place for place in of_topics if rank[place] == len(parts)])
    return Work(parts, offered, others, _places([p for p in of_topics if bank[p].consequence == "life"]), floor, rank)


def _part_of(bank: Sequence[QuestionShape], asks: Asks) -> Part:
    life = _in_turns(bank, asks, is_life=True)[: asks.most_life]
    if asks.mean_floor is None:
        return Part(asks, _places(life), (), ())
    others = _in_turns(bank, asks, is_life=False)
    of_topic = [[place for place in others if bank[place].topic == topic] for topic in asks.topics]
    all_of = [
        [*some, *(p for p in life if bank[p].topic == topic)] for topic, some in zip(asks.topics, of_topic, strict=True)
    ]
    return Part(asks, _places(life), tuple(map(_places, all_of)), tuple(map(_places, of_topic)))


def _in_turns(bank: Sequence[QuestionShape], asks: Asks, *, is_life: bool) -> list[int]:
    """Return the places of the topics' questions, one of each topic in turn, as the rule book's limits keep them."""
    turns = []
    for topic in dict.fromkeys(asks.topics):
        mine = [p for p, q in enumerate(bank) if q.topic == topic and (q.consequence == "life") is is_life]
        kept = sorted(mine, key=lambda place: bank[place].name)[: asks.most_a_topic]
        turns += [(turn, topic, place) for turn, place in enumerate(kept)]
    return [place for _, _, place in sorted(turns)]


def _places(places: Sequence[int]) -> Places:
    return np.array(sorted(places), dtype=np.intp)

"""Questions worked out anew: each generator draws a situation from a seed and lets the trade core judge it."""

from __future__ import annotations

import random
from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from training.core.questions.kinds import Question
from training.core.questions.reading import SHIPPED_AUTHOR
from training.core.questions.variants import gloves, insulation, isolation, lifting, meters, places, tools
from training.core.questions.variants.drawn import DrawFailed, Drawn, Generator

__all__ = ["GENERATORS", "DrawFailed", "Drawn", "Generator", "UnknownGenerator", "draw"]

GENERATORS: Mapping[str, Generator] = MappingProxyType(
    {
        generator.__name__: generator
        for generator in (
            gloves.glove_class_for_bus,
            gloves.glove_due_date,
            gloves.glove_fit_today,
            meters.meter_chain_weakest,
            meters.proving_order,
            isolation.isolation_order,
            isolation.dead_verdict,
            isolation.discharge_voltage,
            isolation.discharge_time,
            lifting.rear_pad_load,
            lifting.arm_verdict,
            lifting.lift_table_verdict,
            insulation.vehicle_isolation_limit,
            insulation.insulation_part_verdict,
            insulation.bonding_resistance,
            insulation.bonding_verdict,
            places.quarantine_place_us,
            places.quarantine_place_eu,
            places.cordon_verdict,
            places.second_person_verdict,
            tools.insulated_tool_choice,
        )
    }
)


class UnknownGenerator(LookupError):
    """No generator has this name; the message lists those there are."""


def draw(
    name: str, seed: int, *, id: str, review_by: date | None = None, author: str = SHIPPED_AUTHOR, checker: str = ""
) -> Question:
    """The question that generator ``name`` makes of ``seed``; the same seed always makes the same question."""
    if name not in GENERATORS:
        raise UnknownGenerator(f"There is no generator {name}. Take one of: {', '.join(GENERATORS)}.")
    drawn = GENERATORS[name](random.Random(f"{name}/{seed}"))
    return Question(
        id=id,
        topic=drawn.topic,
        kind=drawn.kind,
        consequence=drawn.consequence,
        situation=drawn.situation,
        stem=drawn.stem,
        options=drawn.options,
        number=drawn.number,
        sources=drawn.sources,
        regime=drawn.regime,
        picture=drawn.picture,
        picture_text=drawn.picture_text,
        review_by=review_by,
        author=author,
        checker=checker,
        worked_out=name,
        seed=seed,
    )

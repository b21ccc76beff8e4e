"""Questions worked out anew: each generator draws a situation from a seed and lets the trade core judge it."""

from __future__ import annotations

import random
from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from training.core.questions.kinds import Question
from training.core.questions.reading import SHIPPED_AUTHOR
from training.core.questions.variants import (
    capacitors,
    glove_use,
    gloves,
    insulation,
    isolation,
    lifting,
    measuring,
    meters,
    packs,
    pads,
    places,
    ppe,
    proving_dead,
    rescue,
    tools,
    validity,
)
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
            glove_use.protector_length,
            glove_use.air_test_stretch,
            glove_use.glove_shelf_last_day,
            measuring.meter_choice,
            measuring.lead_choice_uk,
            measuring.proving_source_choice,
            measuring.insulation_test_volts,
            measuring.two_voltage_laboratory,
            proving_dead.pair_still_missing,
            proving_dead.wait_left,
            proving_dead.ac_reading_verdict,
            capacitors.capacitor_energy,
            capacitors.discharge_resistor,
            pads.offset_pad_load,
            pads.part_off_centre,
            pads.heaviest_pad,
            validity.certificate_last_day,
            validity.lift_examined_us,
            validity.lift_examined_eu,
            validity.lift_examined_uk,
            packs.table_for_pack,
            packs.table_shared_centre,
            packs.quarantine_first_look,
            packs.quarantine_release,
            rescue.first_aiders_eu,
            rescue.hook_choice,
            rescue.clear_the_bay_signs,
            rescue.approach_verdict_us,
            ppe.visor_choice,
            ppe.clothing_under_arc_coat,
            ppe.metal_off,
            ppe.ppe_mark_eu,
            ppe.arc_coat_by_study,
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

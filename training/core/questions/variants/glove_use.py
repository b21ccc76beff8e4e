"""Questions on using gloves: how long a protector may be, how far an air test may stretch, how long a shelf lasts."""

from __future__ import annotations

import random
from datetime import date, timedelta

from training.core.questions.drawing import label, measure, picture, text
from training.core.questions.kinds import Consequence, Kind, Topic
from training.core.questions.variants.drawn import (
    PRACTICE,
    Choice,
    Drawn,
    day_between,
    day_text,
    one_of,
    pick_one,
)
from training.core.questions.variants.shapes import glove
from training.core.trade import gloves, limits
from training.core.trade.calendar import add_months

_F496 = "ASTM F496 (from memory, confirm in the standard)"


# ---------------------------------------------------------------- protectors
def protector_length(chance: random.Random) -> Drawn:
    """The longest leather protector that still leaves the gap which the class, or the house, asks for."""
    glove_class = chance.choice(("00", "0", "1"))
    house_mm = chance.choice((None, None, 25))
    rubber_mm = chance.choice((280, 360, 410))
    asked_mm = int(max(limits.CUFF_MM[glove_class].value, house_mm or 0))
    short_of = chance.choice((0, 1, 2))
    gaps = chance.sample(range(asked_mm - 11, asked_mm - 1), short_of)
    gaps += chance.sample(range(asked_mm, asked_mm + 26, 3), 3 - short_of)
    fitting = [gap for gap in gaps if gloves.cuff_gap_ok(glove_class, gap, house_mm)]
    house = "" if house_mm is None else f" The house asks for {house_mm} mm whatever the class."
    return Drawn(
        topic=Topic.GLOVE_CARE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"A rubber glove of class {glove_class} is {rubber_mm} mm long. Three leather protectors lie there; worn"
            f" over it, their finger tips meet the glove's.{house}"
        ),
        stem="Which is the longest protector that you may wear over it?",
        options=one_of(
            chance,
            [(_protector(rubber_mm, gap, asked_mm, min(fitting)), gap == min(fitting)) for gap in gaps],
        ),
        sources=(f"{_F496}, gap by class", PRACTICE),
        picture=picture(
            100,
            [
                glove(40, 60, 250),
                text(60, 64, f"class {glove_class}", anchor="start"),
                measure(40, 290, 16, f"{rubber_mm} mm"),
            ],
        ),
        picture_text=f"A rubber glove of class {glove_class}, {rubber_mm} mm from cuff to finger tips.",
    )


def _protector(rubber_mm: int, gap_mm: int, asked_mm: int, smallest_mm: int) -> Choice:
    words, gap = f"{rubber_mm - gap_mm} mm", f"It leaves {gap_mm} mm of rubber bare, and {asked_mm} mm are asked for."
    if gap_mm < asked_mm:
        return Choice(words, f"{gap} Over too short a gap current creeps from the leather to your arm.")
    if gap_mm == smallest_mm:
        return Choice(words, f"{gap} It covers the most rubber of those that keep the gap.")
    return Choice(words, f"{gap} A longer one here keeps the gap too and covers more rubber.")


# ---------------------------------------------------------------- air test
_FAR = {"I": ((1.15, 1.25, 1.35, 1.45), (1.6, 1.75, 2.0)), "II": ((1.08, 1.15, 1.2), (1.35, 1.45, 1.6, 1.8))}


def air_test_stretch(chance: random.Random) -> Drawn:
    """How far an air test may stretch a glove, by the type of its rubber."""
    rubber, rest_mm = chance.choice(("I", "II")), chance.randrange(100, 136)
    within, beyond = _FAR[rubber]
    inside = chance.choice((1, 2, 3))
    ratios = chance.sample(within, inside) + chance.sample(beyond, 3 - inside)
    widths = [round(rest_mm * ratio) for ratio in ratios]
    most = max(width for width in widths if not gloves.over_inflated(rubber, width / rest_mm))
    kind = "natural rubber, type I" if rubber == "I" else "ozone-resistant rubber, type II"
    return Drawn(
        topic=Topic.GLOVE_CARE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=f"You test a glove with an inflator. It is of {kind}; at rest the palm is {rest_mm} mm wide.",
        stem="Of these palm widths, which is the widest that you may blow it up to?",
        options=one_of(chance, [(_width(rubber, rest_mm, width, most), width == most) for width in widths]),
        sources=(f"{_F496}, inflation by type", "29 CFR 1910.137(c)(2)(ii)"),
        picture=picture(
            90, [glove(40, 50, 220), label(262, 24, 74, [f"type {rubber}"]), text(166, 55, f"{rest_mm} mm")]
        ),
        picture_text=f"A glove of type {rubber}, its palm {rest_mm} mm wide at rest.",
    )


def _width(rubber: str, rest_mm: int, width_mm: int, most_mm: int) -> Choice:
    ratio, end = width_mm / rest_mm, limits.INFLATION_RATIO[rubber].value
    told = f"{width_mm} / {rest_mm} is {ratio:.2f} times; type {rubber} ends at {end:g} times."
    if width_mm > most_mm:
        return Choice(f"{width_mm} mm", f"{told} Stretched further, the rubber is harmed where nobody sees it.")
    if width_mm == most_mm:
        return Choice(f"{width_mm} mm", f"{told} Well stretched, a pinhole opens and can be heard.")
    return Choice(f"{width_mm} mm", f"{told} It harms nothing, but more stretch shows a pinhole better.")


# ---------------------------------------------------------------- shelf
def glove_shelf_last_day(chance: random.Random) -> Drawn:
    """The last day on which a tested pair may be put into service without a new test."""
    tested = day_between(chance, date(2025, 1, 1), date(2026, 6, 30))
    delivered = day_between(chance, tested + timedelta(days=8), tested + timedelta(days=70))
    limit = gloves.shelf_limit(tested)
    last = limit - timedelta(days=1)
    told = f"The test of {day_text(tested)} lasts while the day is before {day_text(limit)}."
    wrong = [
        Choice(day_text(limit), f"{told} On {day_text(limit)} itself the twelve months are over."),
        Choice(day_text(add_months(delivered, 12)), f"{told} The delivery starts nothing; the test does."),
        Choice(day_text(add_months(tested, 6)), f"{told} Six months run from issue, and nobody has issued it."),
        Choice(day_text(add_months(delivered, 6)), f"{told} Neither the delivery nor six months count on the shelf."),
    ]
    return Drawn(
        topic=Topic.GLOVE_CARE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"A pair of class 0 gloves passed its electrical test on {day_text(tested)} and came to the store on"
            f" {day_text(delivered)}. Nobody has worn it since. The workshop goes by the stricter limit."
        ),
        stem="Which is the last day on which you may issue it without a new test?",
        options=pick_one(
            chance, Choice(day_text(last), f"{told} The day before that is the last one."), chance.sample(wrong, 4)
        ),
        sources=("29 CFR 1910.137(c)(2)(viii) Table I-5, footnote 1", "OSHA letter 2020-08-19"),
        picture=picture(66, [label(60, 8, 220, [f"tested {day_text(tested)}", f"delivered {day_text(delivered)}"])]),
        picture_text=f"A box of gloves: tested {day_text(tested)}, delivered {day_text(delivered)}.",
    )

"""Questions on meters: the weakest part of the chain, and whose proving counts."""

from __future__ import annotations

import random

from training.core.questions.drawing import label, line, picture, text
from training.core.questions.kinds import Consequence, Kind, Topic
from training.core.questions.variants.drawn import PRACTICE, Choice, DrawFailed, Drawn, figure, pick_one
from training.core.trade.meters import Proof, Rating, Step, live_dead_live, proving_source, weakest

_PARTS = ("meter", "leads", "tips")
_CATEGORIES = ("II", "III", "IV")
_VOLTS = (300, 600, 1000)


def meter_chain_weakest(chance: random.Random) -> Drawn:
    """What a chain of meter, leads and tips is rated for."""
    ratings = _uneven_chain(chance)
    right = weakest(*ratings)
    shown = [f"{part} {_printed(rating)}" for part, rating in zip(_PARTS, ratings, strict=True)]
    wrong = [
        Choice(_printed(rating), f"That is printed on the {part}. {_weak_part(rating, ratings)}")
        for part, rating in zip(_PARTS, ratings, strict=True)
    ]
    wrong += [
        Choice(_printed(Rating(category, volts)), _weak_part(Rating(category, volts), ratings))
        for category in _CATEGORIES
        for volts in _VOLTS
    ]
    return Drawn(
        topic=Topic.METERS,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=f"On the bench lie a meter marked {_printed(ratings[0])}, leads marked {_printed(ratings[1])} and"
        f" tips marked {_printed(ratings[2])}. You plug them together.",
        stem="What may you use the whole of it for?",
        options=pick_one(chance, Choice(_printed(right), _chain_reason(right, ratings)), wrong),
        sources=("IEC 61010-031", "IEC 61010-2-030", PRACTICE),
        picture=picture(
            90,
            [label(10 + 110 * n, 20, 100, words.split(" ", 1)) for n, words in enumerate(shown)]
            + [line(110, 42, 120, 42), line(220, 42, 230, 42)],
        ),
        picture_text=f"A chain: {', '.join(shown)}.",
    )


def _uneven_chain(chance: random.Random) -> list[Rating]:
    """Three ratings of which the weakest is not the meter's own."""
    meter = Rating(chance.choice(("III", "IV")), chance.choice((600, 1000)))
    others = [Rating(category, volts) for category in _CATEGORIES for volts in _VOLTS]
    lower = [rating for rating in others if weakest(meter, rating) != meter]
    return [meter, *chance.sample([chance.choice(lower), chance.choice(others)], 2)]


def _printed(rating: Rating) -> str:
    return f"CAT {rating.category} {figure(rating.volts)} V"


def _chain_reason(right: Rating, ratings: list[Rating]) -> str:
    lowest_category = next(part for part, r in zip(_PARTS, ratings, strict=True) if r.category == right.category)
    lowest_volts = next(part for part, r in zip(_PARTS, ratings, strict=True) if r.volts == right.volts)
    return (
        f"The chain is as weak as its weakest part. Lowest category: CAT {right.category} ({lowest_category}); lowest"
        f" volts: {figure(right.volts)} V ({lowest_volts})."
    )


def _weak_part(claimed: Rating, ratings: list[Rating]) -> str:
    for part, rating in zip(_PARTS, ratings, strict=True):
        if weakest(claimed, rating) != claimed:
            return f"The {part}, marked {_printed(rating)}, cannot bear it, and you hold them in your hands."
    return "Each part bears more, so the chain is rated higher."


_UNIT = "proving unit"
_SELF = "self-test"
_SHEETS: tuple[tuple[str, str, tuple[Step, ...], str], ...] = (
    (_UNIT, "proved on the proving unit, measured, proved on it again", ("prove", "test", "prove"), ""),
    (
        _UNIT,
        "proved on the proving unit, then measured every pair",
        ("prove", "test"),
        "Nobody knows whether the tester still worked at the end.",
    ),
    (
        _UNIT,
        "measured every pair, then proved on the proving unit",
        ("test", "prove"),
        "Nobody knows whether the tester worked when it read 0 V.",
    ),
    (
        _SELF,
        "ran the self-test, measured every pair, ran it again",
        ("prove", "test", "prove"),
        "A self-test looks at lamps and battery, not at leads and input.",
    ),
    (
        _UNIT,
        "proved on the proving unit twice, and then measured",
        ("prove", "prove", "test"),
        "A lead that broke between proving and measuring reads 0 V too.",
    ),
)


def proving_order(chance: random.Random) -> Drawn:
    """Whose readings of 0 V count: proved before and after, on a source that proves."""
    right, *faulty = _SHEETS
    drawn = [right, *chance.sample(faulty, 2)]
    counted = [sheet for sheet in drawn if _counts(sheet[0], sheet[2])]
    if counted != [right]:
        raise DrawFailed("The proving sheets no longer have exactly one that counts")
    label_v = chance.randint(0, 19) / 10
    choices = [Choice(words.capitalize(), why or _PROVED) for _, words, _, why in drawn]
    shown = [f"{which} sheet: {label_v:.1f} V" for which in ("First", "Second", "Third")]
    return Drawn(
        topic=Topic.METERS,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=f"Three sheets say {label_v:.1f} V for every pair of DC points and what was done with the tester.",
        stem="Which sheet's readings count?",
        options=pick_one(chance, choices[0], choices[1:]),
        sources=("HSE GS38", "HSE HSG85", "NFPA 70E 120.5 (from memory, confirm in the standard)"),
        picture=picture(70, [text(170, 20 + 20 * n, words) for n, words in enumerate(shown)]),
        picture_text=f"Three sheets, each with {label_v:.1f} V.",
    )


_PROVED = "The tester worked on a known source right before and right after, so what it read in between counts."


def _counts(source: str, steps: tuple[Step, ...]) -> bool:
    return live_dead_live(steps) and proving_source(source, "DC", "DC") is Proof.PROVES

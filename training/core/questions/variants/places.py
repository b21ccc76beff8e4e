"""Questions on places and people: where a damaged vehicle stands, how far the cordon, who may be second person."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import date, timedelta

from training.core.questions.drawing import box, measure, path, picture, text
from training.core.questions.kinds import Consequence, Kind, Regime, Topic
from training.core.questions.variants.drawn import (
    PRACTICE,
    Choice,
    Drawn,
    by_verdict,
    day_between,
    day_text,
    pick_one,
    plain,
)
from training.core.trade import quarantine, work_area

_WRECKS = ("A crashed delivery van", "A small car with a dented pack", "A hybrid that hit a kerb with its pack")


@dataclass(frozen=True, slots=True)
class _Country:
    """A regime's distances to draw from, what else is asked there, and where that stands."""

    name: str
    rule: str
    regime: Regime
    near_m: tuple[float, ...]
    far_m: tuple[float, ...]
    other_fault: str
    sources: tuple[str, ...]


_US = _Country(
    "the United States",
    "US",
    Regime.US,
    (5, 8, 12, 14.9, 15),
    (15.3, 15.5, 17, 20, 24),
    "indoors",
    ("SAE J2990 practice, 50 ft (confirm in the standard)", PRACTICE),
)
_DE = _Country(
    "Germany",
    "DE",
    Regime.EU,
    (2, 3, 3.5, 4, 4.5),
    (5, 5.5, 7, 9, 12),
    "not_locked",
    ("trade body's figure in Germany: 5 m to fire loads, locked place", PRACTICE),
)


def quarantine_place_us(chance: random.Random) -> Drawn:
    """Where a damaged vehicle may stand in the United States."""
    return _quarantine(chance, _US)


def quarantine_place_eu(chance: random.Random) -> Drawn:
    """Where a damaged vehicle may stand in Germany."""
    return _quarantine(chance, _DE)


def _quarantine(chance: random.Random, country: _Country) -> Drawn:
    wanted = chance.choice(("stand", "too_near", country.other_fault))
    sides = chance.sample(country.far_m, 2)
    nearest_m = float(chance.choice(country.near_m) if wanted == "too_near" else chance.choice(country.far_m))
    place = quarantine.Place(
        regime=country.rule,
        open_sides_m=(nearest_m, *sides),
        indoors=wanted == "indoors",
        locked=wanted != "not_locked",
        marked=True,
    )
    codes = [reason.code for reason in quarantine.not_a_place(place)]
    verdict = codes[0] if codes else "stand"
    least = plain(quarantine.distance_m(country.rule))
    where = "inside the wash hall" if place.indoors else "in the open yard"
    gate = "the gate is locked" if place.locked else "the gate stays open"
    shown = ", ".join(f"{plain(side)} m" for side in place.open_sides_m[:2])
    return Drawn(
        topic=Topic.BATTERY,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"{chance.choice(_WRECKS)} is to stand overnight at a workshop in {country.name}, {where}; {gate}. It is"
            f" marked. The three open sides have {shown} and {plain(sides[1])} m to what burns."
        ),
        stem="What do you say about the place?",
        options=by_verdict(chance, verdict, _place_choices(country, least, min(place.open_sides_m), where, gate)),
        regime=country.regime,
        sources=country.sources,
        picture=_yard(place.open_sides_m),
        picture_text=f"A vehicle with {shown} and {plain(sides[1])} m on its open sides.",
    )


def _place_choices(country: _Country, least: str, nearest_m: float, where: str, gate: str) -> dict[str, Choice]:
    distance = (
        f"The nearest side has {plain(nearest_m)} m; in {country.name} {least} m are asked for on each open side."
    )
    other = {
        "indoors": Choice(
            "No, it stands indoors", f"It would stand {where}. A fire indoors takes the building with it."
        ),
        "not_locked": Choice("No, it is not locked", f"At this place {gate}. Nobody may be able to walk up to it."),
    }[country.other_fault]
    other_holds = {"indoors": f"It stands {where}.", "not_locked": f"At this place {gate}."}[country.other_fault]
    return {
        "stand": Choice("It will do, as asked", f"{distance} {other_holds}"),
        "too_near": Choice("No, a side is too near", distance),
        country.other_fault: other,
    }


def _yard(sides_m: tuple[float, ...]) -> str:
    left, right, back = (f"{plain(side)} m" for side in sides_m)
    shapes = [box(140, 50, 60, 34), measure(14, 138, 70, left), measure(202, 326, 70, right), text(170, 40, back)]
    return picture(110, shapes)


def cordon_verdict(chance: random.Random) -> Drawn:
    """Whether a cordon stands far enough off and is closed."""
    wanted = chance.choice(("stand", "near", "open"))
    live = chance.choice((True, False))
    least_m = work_area.cordon_m(live_parts_may_be_open=live)
    # With live parts open the usual mistake is the metre that does elsewhere.
    span_cm = ((60, 106) if live else (40, 96)) if wanted == "near" else (110, 256)
    distance_m = chance.randrange(*span_cm, 5) / 100
    closed = wanted != "open"
    holds = work_area.cordon_ok(distance_m, ring_closed=closed, live_parts_may_be_open=live)
    verdict = "stand" if holds else "near" if distance_m < least_m else "open"
    parts = "HV parts may be open and live" if live else "No HV part is open"
    ring = "The ring is closed all round" if closed else "The ring is open towards the wall"
    choices = {
        "stand": Choice("It will do", f"{plain(distance_m)} m against {plain(least_m)} m asked for here. {ring}."),
        "near": Choice("It is too near", f"{plain(distance_m)} m against {plain(least_m)} m asked for here."),
        "open": Choice("It has a hole", f"{ring}{'' if closed else '; whoever comes along there walks in'}."),
    }
    return Drawn(
        topic=Topic.WORK_AREA,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=f"{parts} today. The barrier stands {plain(distance_m)} m from the vehicle. {ring}.",
        stem="What do you say about the cordon?",
        options=by_verdict(chance, verdict, choices),
        sources=("NFPA 70E Table 130.4(E)(b), limited approach (confirm in the standard)", PRACTICE),
        picture=_cordon(distance_m, closed),
        picture_text=f"A barrier {plain(distance_m)} m from the vehicle. {ring}.",
    )


def _cordon(distance_m: float, closed: bool) -> str:
    """The vehicle in its ring, seen from above; the wall's side is on the right."""
    ring = [(300, 10), (40, 10), (40, 94), (300, 94)]
    shapes = [box(110, 34, 120, 40), measure(40, 110, 54, f"{plain(distance_m)} m")]
    return picture(104, [*shapes, path([*ring, ring[0]] if closed else ring)])


_FAULTS = {
    "has_other_task": (
        "is to fetch parts in between",
        "You have other work",
        "Who fetches parts cannot pull you clear.",
    ),
    "no_hook": (
        "has the hook in the store room",
        "You have no hook here",
        "With the hook in the store room seconds are lost.",
    ),
    "out_of_sight": (
        "sits in the office next door",
        "You are out of sight",
        "Nobody sees from the office that you hang on.",
    ),
    "switch_off_unknown": (
        "has not been shown where to switch off",
        "You know no switch-off",
        "The switch comes first.",
    ),
}
_FIELDS = {
    "has_other_task": "nothing_else_to_do",
    "no_hook": "hook_at_hand",
    "out_of_sight": "in_sight",
    "switch_off_unknown": "knows_the_switch_off",
}


def second_person_verdict(chance: random.Random) -> Drawn:
    """Whether somebody may be second person today, or what stands in the way."""
    today = day_between(chance, date(2026, 2, 1), date(2026, 11, 30))
    wanted = chance.choice(("stand", "no_first_aid", *_FAULTS))
    first_aid = today + timedelta(days=-chance.randint(1, 40) if wanted == "no_first_aid" else chance.randint(0, 300))
    verdict = _person_answer(wanted, first_aid, today)
    detail = f" The colleague {_FAULTS[wanted][0]}." if wanted in _FAULTS else ""
    choices = _person_choices(first_aid, today, wanted)
    right = choices.pop(verdict)
    others = [choices.pop("stand")] if verdict != "stand" else []
    others += chance.sample(list(choices.values()), 2 - len(others))
    return Drawn(
        topic=Topic.RESCUE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"Today is {day_text(today)}. A colleague of 34, cleared for rescue and instructed, is to be second person."
            f" The first-aid certificate is valid through {day_text(first_aid)}.{detail}"
            " All else is in order."
        ),
        stem="What do you say to the colleague?",
        options=pick_one(chance, right, others),
        sources=("DGUV Regel 103-011 (live work, second person)", PRACTICE),
        picture=picture(
            60, [box(60, 8, 220, 44), text(170, 26, "first aid through"), text(170, 44, day_text(first_aid))]
        ),
        picture_text=f"A first-aid card, valid through {day_text(first_aid)}.",
    )


def _person_answer(wanted: str, first_aid: date, today: date) -> str:
    holds = dict.fromkeys(_FIELDS.values(), True) | ({_FIELDS[wanted]: False} if wanted in _FIELDS else {})
    person = work_area.SecondPerson(
        cleared_for_rescue=True, instructed=True, adult=True, gloves_at_hand=True, first_aid_through=first_aid, **holds
    )
    codes = [reason.code for reason in work_area.not_second_person(person, today)]
    return codes[0] if codes else "stand"


def _person_choices(first_aid: date, today: date, fault: str) -> dict[str, Choice]:
    dated = f"The first-aid certificate is valid through {day_text(first_aid)}, today is {day_text(today)}."
    why = _FAULTS[fault][2] if fault in _FAULTS else dated
    choices = {
        "stand": Choice("You may stand by now", why),
        "no_first_aid": Choice("Your first aid lapsed", dated),
    }
    for name, (_, words, reason) in _FAULTS.items():
        choices[name] = Choice(
            words, reason if name == fault else "Nothing of the kind is said here, so it is in order."
        )
    return choices

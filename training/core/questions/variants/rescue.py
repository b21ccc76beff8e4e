"""Questions on rescue: how many first aiders, which hook, what clears the bay; and who may stand near live parts."""

from __future__ import annotations

import random
from datetime import date, timedelta

from training.core.questions.drawing import box, circle, label, line, measure, path, picture
from training.core.questions.kinds import Consequence, Kind, Regime, Topic
from training.core.questions.variants.drawn import (
    PRACTICE,
    Choice,
    Drawn,
    by_verdict,
    day_between,
    day_text,
    figure,
    one_of,
    pick_all,
    pick_one,
    plain,
)
from training.core.questions.variants.shapes import rows_of_text
from training.core.trade import limits, quarantine, work_area
from training.core.trade.calendar import add_months
from training.core.trade.fitness import Job, RescueHook, fitness


# ---------------------------------------------------------------- first aiders
def first_aiders_eu(chance: random.Random) -> Drawn:
    """How many first aiders a workshop in Germany needs with so many people present."""
    present = chance.randint(12, 68)
    payroll = present + chance.randint(7, 22)
    needed = work_area.first_aiders_needed_de(present)
    told = f"{present} are there, and a workshop counts those present."
    rule = (
        "Up to 20 one is enough."
        if present <= limits.FIRST_AIDERS_FEW.value
        else "Above 20 it is 10 in 100, rounded up."
    )
    wrong = [
        Choice(_aiders(present // 10), f"{told} {rule} A part of a person rounds up."),
        Choice(_aiders(-(-present // 20)), f"{told} {rule} 5 in 100 are for offices and trade."),
        Choice(_aiders(-(-payroll // 10)), f"{told} {rule} Those on the payroll who are away do not count."),
        Choice(_aiders(1), f"{told} {rule} One alone is for 2 to 20 people."),
        Choice(_aiders(0), f"{told} {rule} From 2 people on one is asked for."),
        Choice(_aiders(needed + 1), f"{told} {rule} One more is welcome, but not asked for."),
    ]
    return Drawn(
        topic=Topic.RESCUE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.INJURY,
        situation=f"A workshop in Germany has {payroll} people on its payroll. In this shift {present} are present.",
        stem="How many trained first aiders must be there at least?",
        options=pick_one(chance, Choice(_aiders(needed), f"{told} {rule}"), chance.sample(wrong, len(wrong))),
        regime=Regime.EU,
        sources=("DGUV Vorschrift 1 section 26",),
        picture=rows_of_text([f"payroll {payroll}", f"present {present}"]),
        picture_text=f"A shift plan: payroll {payroll}, present {present}.",
    )


def _aiders(count: int) -> str:
    return str(count)


# ---------------------------------------------------------------- hook
def hook_choice(chance: random.Random) -> Drawn:
    """Which rescue hook hangs by the bay today: rated, checked within the year, clean and dry, whole."""
    today, dc_v = day_between(chance, date(2026, 2, 1), date(2026, 11, 30)), chance.randrange(520, 861, 10)
    # A check on the same-numbered day a year ago still holds today.
    year_ago = add_months(today, -12)
    good_day = year_ago if chance.randint(1, 3) == 1 else today - timedelta(days=chance.randint(20, 340))
    good = RescueHook(
        in_service=True, rated_v=chance.choice((1000, 1500)), checked_on=good_day, clean_and_dry=True, damaged=False
    )
    late = year_ago - timedelta(days=chance.randint(1, 40))
    if late.day == good_day.day:  # two dates that differ by the month alone would be a trick
        late -= timedelta(days=1)
    hooks = [good, *chance.sample(_faulty_hooks(chance, today, late), 2)]
    job = Job(highest_dc_v=dc_v, highest_ac_v=0)
    return Drawn(
        topic=Topic.RESCUE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"Today is {day_text(today)}. The job has up to {figure(dc_v)} V DC. You are second person and choose among"
            " three hooks, each to be checked yearly."
        ),
        stem="Which hook do you hang at the cordon?",
        options=one_of(chance, [(_hook(each, dc_v, year_ago), fitness(each, job, today).fit) for each in hooks]),
        sources=("the hook's maker", PRACTICE),
        picture=picture(
            70,
            [
                line(20, 40, 230, 40),
                path([(230, 40), (270, 10), (310, 25), (300, 50)]),
                label(60, 6, 130, ["rating, date: ?"]),
            ],
        ),
        picture_text="A rescue hook with its label; ratings and dates stand in the answers.",
    )


def _faulty_hooks(chance: random.Random, today: date, late: date) -> list[RescueHook]:
    fresh = today - timedelta(days=chance.randint(5, 200))

    def hook(rated_v: int = 1000, checked_on: date = fresh, dry: bool = True) -> RescueHook:
        return RescueHook(in_service=True, rated_v=rated_v, checked_on=checked_on, clean_and_dry=dry, damaged=False)

    return [hook(checked_on=late), hook(rated_v=500), hook(dry=False)]


def _hook(kit: RescueHook, dc_v: int, year_ago: date) -> Choice:
    rated_v, checked_on = kit.rated_v or 0, kit.checked_on or date.min
    rod = "clean and dry" if kit.clean_and_dry else "wet with rain"
    words = f"Rated {figure(rated_v)} V, last checked {day_text(checked_on)}, {rod}"
    if rated_v < dc_v:
        return Choice(words, f"{figure(rated_v)} V is below the job's {figure(dc_v)} V: the rod would carry it to you.")
    if checked_on < year_ago:
        return Choice(words, f"Checked on {day_text(checked_on)}, it was good for a year, and that is over.")
    if not kit.clean_and_dry:
        return Choice(words, "Water on the rod carries current past the insulation into your hands.")
    return Choice(words, f"{figure(rated_v)} V reaches {figure(dc_v)} V, the check is within the year, and it is dry.")


# ---------------------------------------------------------------- signs
_SIGNS = {
    "white vapour": "White vapour from under the sill",
    "sweet smell": "A sweet smell at the wheel arch",
    "popping": "Popping from under the floor",
    "gurgling": "Gurgling inside the pack",
    "smoke": "Smoke at a seam of the pack",
    "heat": "One corner of the pack growing hot",
    "sparks": "Sparks at the pack's connector",
    "bubbling": "Bubbling behind the pack's cover",
}
_NO_SIGNS = (
    "Water dripping from the air conditioner",
    "A relay clicking in the dash",
    "The radiator fan running on",
    "A brake disc ticking as it cools",
    "Snow melting off the bonnet",
)
_CAME = ("after a side impact", "on a recovery truck", "after driving over a kerb", "with a coolant warning")


def clear_the_bay_signs(chance: random.Random) -> Drawn:
    """Which signs each by itself mean: everybody out, doors closed, call the fire service."""
    named = chance.sample(sorted(_SIGNS), chance.choice((1, 2, 3)))
    judged = [(_sign(_SIGNS[sign]), quarantine.must_evacuate([sign])) for sign in named]
    harmless = chance.sample(_NO_SIGNS, 4 - len(named))
    judged += [
        (Choice(words, "Any car does that; it says nothing about the cells."), quarantine.must_evacuate([]))
        for words in harmless
    ]
    bay = chance.randint(1, 6)
    return Drawn(
        topic=Topic.RESCUE,
        kind=Kind.PICK_ALL,
        consequence=Consequence.LIFE,
        situation=f"An electric car came in {chance.choice(_CAME)} and stands at bay {bay}. You walk round it.",
        stem="Which of these, seen alone, make you send everybody out and call the fire service?",
        options=pick_all(chance, judged),
        sources=("makers' emergency guides", "NHTSA interim guidance on damaged HV batteries", PRACTICE),
        picture=picture(
            80, [box(90, 24, 160, 36), circle(125, 62, 12), circle(215, 62, 12), label(6, 6, 70, [f"bay {bay}"])]
        ),
        picture_text=f"A car at bay {bay}.",
    )


def _sign(words: str) -> Choice:
    return Choice(words, f"{words} means cells in trouble; their gas is toxic and catches fire.")


# ---------------------------------------------------------------- approach
def approach_verdict_us(chance: random.Random) -> Drawn:
    """Whether somebody not cleared may stand so near to open live DC parts."""
    dc_v = chance.randrange(320, 861, 10)
    limit = work_area.dc_approach(dc_v)
    assert limit is not None
    assert limit.restricted_m is not None
    wanted = chance.choice(("far", "escort", "nobody"))
    span_cm = {"far": (108, 220), "escort": (35, 105), "nobody": (10, 29)}[wanted]
    distance_m = chance.randrange(*span_cm) / 100
    verdict = "far" if distance_m >= limit.limited_m else "escort" if distance_m > limit.restricted_m else "nobody"
    lines = f"At {figure(dc_v)} V DC the lines are {plain(limit.limited_m)} m and {plain(limit.restricted_m)} m."
    near = f"{lines} The new hire stands at {plain(distance_m)} m."
    choices = {
        "far": Choice("Yes, as far off as that", f"{near} No escort is needed from {plain(limit.limited_m)} m on."),
        "escort": Choice("Yes, with an escort beside", f"{near} An escort helps between the two lines."),
        "nobody": Choice(
            "No, not even with an escort", f"{near} Nobody uncleared goes nearer than {plain(limit.restricted_m)} m."
        ),
    }
    return Drawn(
        topic=Topic.WORK_AREA,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"A pack with {figure(dc_v)} V DC lies open on the bench. A new hire, told of the danger but not cleared,"
            f" wants to watch from {plain(distance_m)} m. A cleared colleague could go with him."
        ),
        stem="May he stand there?",
        options=by_verdict(chance, verdict, choices),
        regime=Regime.US,
        sources=("NFPA 70E Table 130.4(E)(b) and 130.4 (confirm in the standard)",),
        picture=picture(
            80,
            [
                box(20, 24, 60, 30),
                measure(84, 260, 44, f"{plain(distance_m)} m"),
                circle(275, 30, 8),
                line(275, 38, 275, 62),
            ],
        ),
        picture_text=f"A person {plain(distance_m)} m from an open pack.",
    )

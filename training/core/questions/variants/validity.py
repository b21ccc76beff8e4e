"""Questions on the day through which something holds: a certificate, or the examination of a lift."""

from __future__ import annotations

import random
from datetime import date, timedelta

from training.core.questions.drawing import label, picture
from training.core.questions.kinds import Consequence, Kind, Option, Regime, Topic
from training.core.questions.variants.drawn import PRACTICE, Choice, Drawn, day_between, day_text, pick_one
from training.core.trade import limits
from training.core.trade.calendar import add_months, through_day

_CALENDAR = "Reg. (EEC, Euratom) 1182/71 Art 3"
_PAPERS = (
    ("first-aid certificate", "first-aid course", 24),
    ("first-aid certificate", "first-aid course", 36),
    ("resuscitation card", "resuscitation course", 24),
    ("card for freeing a person from live parts", "rescue course", 12),
)
# Days that a shorter month does not have, as well as ordinary ones.
_TRICKY = (date(2024, 2, 29), date(2024, 8, 31), date(2025, 5, 31), date(2025, 12, 31))


def certificate_last_day(chance: random.Random) -> Drawn:
    """The last day on which a certificate holds, counted from the course that renewed it."""
    paper, course, months = chance.choice(_PAPERS)
    done = (
        chance.choice(_TRICKY)
        if chance.randint(1, 5) == 1
        else day_between(chance, date(2024, 6, 1), date(2026, 5, 31))
    )
    old_end = done + timedelta(days=chance.randint(12, 75))
    last = through_day(done, months)
    return Drawn(
        topic=Topic.RESCUE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.INJURY,
        situation=(
            f"A colleague took a {course} on {day_text(done)}. Until then the {paper} held through {day_text(old_end)}."
            f" It is good for {months} months."
        ),
        stem=f"Through which day does the {paper} hold now?",
        options=_days(chance, done, old_end, last, months, "course"),
        sources=(_CALENDAR, "the issuer's period of validity"),
        picture=picture(66, [label(50, 8, 240, [f"course {day_text(done)}", f"good for {months} months"])]),
        picture_text=f"A card: course {day_text(done)}, good for {months} months.",
    )


def _days(chance: random.Random, done: date, old_end: date, last: date, months: int, event: str) -> tuple[Option, ...]:
    counted = f"{months} months from the {event} of {day_text(done)} end with {day_text(last)}."
    right = Choice(_through(last), f"{counted} That day still counts; the next one does not.")
    wrong = [
        Choice(_through(add_months(old_end, months)), f"{counted} Nothing is added to an end that was to come."),
        Choice(_through(last - timedelta(days=1)), f"{counted} Only rubber gloves and their like end the day before."),
        Choice(_through(_month_end(last)), f"{counted} It does not run on to the end of the month."),
        Choice(
            _through(done + timedelta(days=30 * months)), f"{counted} Months go by the calendar, not as thirty days."
        ),
    ]
    return pick_one(chance, right, chance.sample(wrong, len(wrong)))


def _through(day: date) -> str:
    return f"through {day_text(day)}"


def _month_end(day: date) -> date:
    return add_months(day.replace(day=1), 1) - timedelta(days=1)


# ---------------------------------------------------------------- lifts
def lift_examined_us(chance: random.Random) -> Drawn:
    """Through which day a lift's yearly inspection holds in the United States."""
    return _lift(chance, Regime.US, "in the United States", 6)


def lift_examined_eu(chance: random.Random) -> Drawn:
    """Through which day a lift's yearly check holds in Germany."""
    return _lift(chance, Regime.EU, "in Germany", 6)


def lift_examined_uk(chance: random.Random) -> Drawn:
    """Through which day a lift's thorough examination holds in the UK, where people work under it."""
    return _lift(chance, Regime.UK, "in the UK", 12)


def _lift(chance: random.Random, regime: Regime, where: str, elsewhere_months: int) -> Drawn:
    interval = limits.LIFT_MONTHS["DE" if regime is Regime.EU else regime.value]
    months = int(interval.value)
    done = (
        chance.choice(_TRICKY) if chance.randint(1, 6) == 1 else day_between(chance, date(2025, 1, 1), date(2026, 6, 1))
    )
    papers = done + timedelta(days=chance.randint(5, 24))
    last = through_day(done, months)
    counted = f"Here {months} months count, from the examination of {day_text(done)}: through {day_text(last)}."
    wrong = [
        Choice(
            _through(add_months(done, elsewhere_months)), f"{counted} {elsewhere_months} months are another country's."
        ),
        Choice(_through(add_months(papers, months)), f"{counted} The day of the report starts nothing."),
        Choice(
            _through(last - timedelta(days=1)), f"{counted} That day still counts; gloves alone end the day before."
        ),
    ]
    return Drawn(
        topic=Topic.LIFTING,
        kind=Kind.PICK_ONE,
        consequence=Consequence.INJURY,
        situation=(
            f"A two-post lift {where} was examined on {day_text(done)} and found sound; the report came on"
            f" {day_text(papers)}. Fitters work under it daily. The house follows the usual interval."
        ),
        stem="Through which day may it be used before the next examination?",
        options=pick_one(chance, Choice(_through(last), f"{counted} Defects end it at once."), chance.sample(wrong, 3)),
        regime=regime,
        sources=(interval.cite, _CALENDAR, PRACTICE),
        picture=picture(66, [label(50, 8, 240, [f"examined {day_text(done)}", f"report {day_text(papers)}"])]),
        picture_text=f"A plate on the lift: examined {day_text(done)}, report {day_text(papers)}.",
    )

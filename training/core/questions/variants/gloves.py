"""Questions on rubber gloves: class by the highest bus voltage, the day a pair is out of date, fit for a job today."""

from __future__ import annotations

import random
from datetime import date, timedelta

from training.core.questions.drawing import box, label, line, picture, text
from training.core.questions.kinds import Consequence, Kind, Topic
from training.core.questions.variants.drawn import (
    PRACTICE,
    Choice,
    Drawn,
    by_verdict,
    day_between,
    day_text,
    figure,
    pick_one,
)
from training.core.trade import gloves, limits
from training.core.trade.calendar import add_months

_CLASS_SOURCES = (
    "29 CFR 1910.137 Table I-4 (AC)",
    "ASTM D120 / F496 Table 1 (DC)",
    "UN R100 (highest voltage of the bus)",
)
_DATE_SOURCES = ("29 CFR 1910.137(c)(2)(viii) Table I-5", "OSHA letter 2020-08-19")

# vehicle, volts on the battery label, highest volts DC and AC anywhere in the HV system
_BUSES = (
    ("A hybrid with a step-up converter", (201, 288), (500, 650), (330, 430)),
    ("An electric delivery van", (340, 370), (400, 450), (250, 310)),
    ("A car that steps a DC charger's voltage up", (345, 400), (830, 920), (270, 320)),
    ("An electric truck", (600, 650), (700, 745), (510, 560)),
    ("An electric city bus", (640, 690), (760, 830), (380, 450)),
    ("An electric truck for megawatt charging", (780, 850), (1050, 1250), (560, 690)),
)


def glove_class_for_bus(chance: random.Random) -> Drawn:
    """Which class is the lowest rated, by the highest voltage of the bus and not by the battery label."""
    vehicle, *spans = chance.choice(_BUSES)
    label_v, dc_v, ac_v = (chance.randint(*span) for span in spans)
    right = gloves.class_for(dc_v, ac_v)
    by_label = gloves.class_for(label_v, 0)
    near = gloves.CLASSES[: max(3, gloves.CLASSES.index(right) + 1)][-3:]
    choices: dict[str, Choice] = {
        name: Choice(f"class {name}", _class_reason(name, right, by_label, label_v, dc_v, ac_v)) for name in near
    }
    shown = [f"battery label {figure(label_v)} V", f"HV system up to {figure(dc_v)} V DC", f"and {figure(ac_v)} V AC"]
    return Drawn(
        topic=Topic.EQUIPMENT_CHOICE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"{vehicle} has {figure(label_v)} V on its battery label. The maker's sheet says that the HV system carries"
            f" up to {figure(dc_v)} V DC and {figure(ac_v)} V AC."
        ),
        stem="By rating alone, which is the lowest glove that will do?",
        options=by_verdict(chance, right, choices),
        sources=_CLASS_SOURCES,
        picture=picture(80, [label(50, 8, 240, shown)]),
        picture_text=f"A sheet: {', '.join(shown)}.",
    )


def _class_reason(name: str, right: str, by_label: str, label_v: int, dc_v: int, ac_v: int) -> str:
    dc_end, ac_end = limits.GLOVE_DC_V[name].value, limits.GLOVE_AC_V[name].value
    rated = f"Class {name} is rated up to {figure(dc_end)} V DC and {figure(ac_end)} V AC."
    if name == right:
        floor = " Where the workshop's floor is class 0, wear class 0." if name == "00" else ""
        return f"{rated} The system's {figure(dc_v)} V DC and {figure(ac_v)} V AC both lie within it.{floor}"
    if gloves.is_rated(name, dc_v, ac_v):
        misread = " Read in the AC column, the DC volts would ask for it." if name == gloves.class_for(0, dc_v) else ""
        return f"{rated} It insulates, but a lower class is rated already and lets you feel more.{misread}"
    over = f"{figure(dc_v)} V DC" if dc_v > dc_end else f"{figure(ac_v)} V AC"
    misread = f" It is what the battery label of {figure(label_v)} V would ask for." if name == by_label else ""
    return f"{rated} The system's {over} goes through it.{misread}"


def glove_due_date(chance: random.Random) -> Drawn:
    """The first day on which a pair in service is out of date, strict rule."""
    tested = day_between(chance, date(2025, 1, 1), date(2026, 6, 30))
    issued = day_between(chance, tested + timedelta(days=5), add_months(tested, 12) - timedelta(days=1))
    limit = gloves.due(tested, issued)
    from_issue, from_test = add_months(issued, 6), add_months(tested, 12)
    wrong = [
        Choice(
            day_text(from_issue), f"Six months from issue; by then the test of {day_text(tested)} is over a year old."
        ),
        Choice(day_text(from_test), f"Twelve months from test, but six months in service end on {day_text(limit)}."),
        Choice(day_text(add_months(tested, 6)), "Six months run from issue, not from the test before it."),
        Choice(day_text(add_months(issued, 12)), "Twelve months from issue is no limit; the pair would go untested."),
        Choice(day_text(issued + timedelta(days=180)), "Months go by the calendar, not as thirty days each."),
    ]
    return Drawn(
        topic=Topic.GLOVE_CARE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"A pair of class 0 gloves passed its electrical test on {day_text(tested)} and was first issued on"
            f" {day_text(issued)}. Nobody has tested it since. The workshop goes by the stricter limit."
        ),
        stem="From which day on is the pair out of date?",
        options=pick_one(
            chance, Choice(day_text(limit), _due_reason(tested, issued, limit)), chance.sample(wrong, len(wrong))
        ),
        sources=_DATE_SOURCES,
        picture=_timeline([(tested, "tested"), (issued, "issued")]),
        picture_text=f"A line of time: tested {day_text(tested)}, issued {day_text(issued)}.",
    )


def _due_reason(tested: date, issued: date, limit: date) -> str:
    return (
        f"Six months from issue is {day_text(add_months(issued, 6))}, twelve months from test is"
        f" {day_text(add_months(tested, 12))}. The earlier one, {day_text(limit)}, is the first day out of date."
    )


def glove_fit_today(chance: random.Random) -> Drawn:
    """Whether a pair is fit for today's job: date and class, at most one of them wrong."""
    tested = day_between(chance, date(2025, 6, 1), date(2026, 3, 31))
    issued = day_between(chance, tested + timedelta(days=10), tested + timedelta(days=150))
    limit = gloves.due(tested, issued)
    trouble = chance.choice(("none", "date", "class"))
    today = (
        limit + timedelta(days=chance.randint(0, 20)) if trouble == "date" else _day_in_service(chance, issued, limit)
    )
    glove_class, dc_v = ("00", chance.randint(760, 900)) if trouble == "class" else ("0", chance.randint(380, 900))
    verdict = _glove_verdict(glove_class, dc_v, tested, issued, today)
    dated = f"It is in date until {day_text(limit - timedelta(days=1))}"
    rated = f"class {glove_class} is rated up to {figure(limits.GLOVE_DC_V[glove_class].value)} V DC"
    facts = f"{dated}, today is {day_text(today)}; {rated}, the job has {figure(dc_v)} V DC."
    choices = {
        "fit": Choice("Fit: class and date both hold", facts),
        "date": Choice("Not fit: the date has passed", facts),
        "class": Choice("Not fit: the class is too low", facts),
    }
    shown = [
        f"class {glove_class}",
        f"tested {day_text(tested)}",
        f"issued {day_text(issued)}",
    ]
    return Drawn(
        topic=Topic.GLOVE_CARE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"Today is {day_text(today)}. The HV system carries up to {figure(dc_v)} V DC. The pair on the bench is"
            f" class {glove_class}, tested {day_text(tested)}, first issued {day_text(issued)}. It looks sound."
        ),
        stem="What do you say about this pair for this job?",
        options=by_verdict(chance, verdict, choices),
        sources=(*_DATE_SOURCES, "ASTM D120 / F496 Table 1 (DC)", PRACTICE),
        picture=picture(80, [label(90, 8, 160, shown), box(40, 16, 40, 45)]),
        picture_text=f"A pair of gloves with its label: {', '.join(shown)}.",
    )


def _day_in_service(chance: random.Random, issued: date, limit: date) -> date:
    return day_between(chance, max(issued, limit - timedelta(days=21)), limit - timedelta(days=1))


def _glove_verdict(glove_class: str, dc_v: int, tested: date, issued: date, today: date) -> str:
    if not gloves.in_date(tested, issued, today):
        return "date"
    return "fit" if gloves.is_rated(glove_class, dc_v, 0) else "class"


def _timeline(marks: list[tuple[date, str]]) -> str:
    first = marks[0][0]
    shapes = [line(20, 50, 320, 50)]
    for n, (day, words) in enumerate(marks):
        x = 80 + (day - first).days * 0.5
        shapes += [line(x, 42, x, 58), text(x, 34 if n % 2 == 0 else 76, f"{words} {day_text(day)}")]
    return picture(90, shapes)

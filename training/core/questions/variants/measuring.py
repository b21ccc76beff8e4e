"""Questions on choosing what to measure with: meter, leads, proving source, test voltage; and laboratory arithmetic."""

from __future__ import annotations

import random
from datetime import date

from training.core.questions.drawing import arrow, box, label, line, picture, text
from training.core.questions.kinds import Consequence, Kind, NumberAnswer, Regime, Topic
from training.core.questions.variants.drawn import MAKER, PRACTICE, Choice, Drawn, figure, one_of, pick_one
from training.core.questions.variants.shapes import meter, probe
from training.core.trade import insulation, limits
from training.core.trade.errors import MakerValueMissing
from training.core.trade.fitness import Job, Leads, fitness
from training.core.trade.meters import Current, Proof, Rating, meets_shop_floor, proving_source

_ANY_DAY = date(2026, 6, 1)  # a rating does not age
_VEHICLES = ("a delivery van", "an electric estate car", "a hybrid car", "an electric pickup", "a small electric car")

# vehicle, volts on the battery label, highest volts DC anywhere in the HV system
_HIGHER = (
    ("A hybrid with a step-up converter", (201, 288), (610, 650)),
    ("A car that steps a DC charger's voltage up", (345, 400), (830, 920)),
    ("An electric truck", (550, 590), (680, 745)),
)


# ---------------------------------------------------------------- meter and leads
def meter_choice(chance: random.Random) -> Drawn:
    """Which meter may touch this vehicle, by the highest voltage of the bus and not by the battery label."""
    vehicle, *spans = chance.choice(_HIGHER)
    label_v, dc_v = (chance.randint(*span) for span in spans)
    right = Rating(chance.choice(("III", "IV")), 1000)
    ratings = [right, *chance.sample([Rating("III", 600), Rating("II", 1000), Rating("IV", 600)], 2)]
    return Drawn(
        topic=Topic.EQUIPMENT_CHOICE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"{vehicle} has {figure(label_v)} V on its battery label; the maker's sheet says up to {figure(dc_v)} V DC"
            " in the HV system. Three meters lie there, each with leads and tips of its own rating."
        ),
        stem="Which do you take to prove it dead?",
        options=one_of(chance, [(_meter(each, label_v, dc_v), meets_shop_floor(each, dc_v)) for each in ratings]),
        sources=("IEC 61010-2-030", "CAT III 1 000 V as shop floor: common practice, no source"),
        picture=picture(
            60, [label(50, 8, 240, [f"battery label {figure(label_v)} V", f"HV up to {figure(dc_v)} V DC"])]
        ),
        picture_text=f"A sheet: battery label {figure(label_v)} V, HV system up to {figure(dc_v)} V DC.",
    )


def _printed(rating: Rating) -> str:
    return f"CAT {rating.category} {figure(rating.volts)} V"


def _meter(rating: Rating, label_v: int, dc_v: int) -> Choice:
    words = f"The one marked {_printed(rating)}"
    if rating.volts < dc_v:
        why = f"{figure(rating.volts)} V is enough for the label's {figure(label_v)} V, not for the {figure(dc_v)} V"
        return Choice(words, f"{why} that the system carries.")
    if rating.category == "II":
        return Choice(words, "CAT II is for things with a plug; workshops ask for CAT III, by right while it charges.")
    return Choice(words, f"CAT {rating.category} and {figure(rating.volts)} V both reach {figure(dc_v)} V DC.")


def lead_choice_uk(chance: random.Random) -> Drawn:
    """Which leads may be used in the UK: rating, volts, and how much metal is bare at the tip."""
    dc_v = chance.randrange(340, 861, 10)
    offered = [
        (Rating(chance.choice(("III", "IV")), 1000), chance.choice((2, 3, 4))),
        (Rating(chance.choice(("III", "IV")), 1000), chance.choice((5, 8, 12, 19))),
        (chance.choice((Rating("II", 1000), Rating("III", 600), Rating("III", 300))), chance.choice((2, 3, 4))),
    ]
    job = Job(highest_dc_v=dc_v, highest_ac_v=0, regime="UK")
    return Drawn(
        topic=Topic.METERS,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"In a UK workshop you are to measure {chance.choice(_VEHICLES)} with up to {figure(dc_v)} V DC. Three"
            " pairs of undamaged leads hang there. The house asks for CAT III 1 000 V for every part of the chain."
        ),
        stem="Which pair do you plug in?",
        options=one_of(chance, [(_lead(*each), fitness(_kit(*each), job, _ANY_DAY).fit) for each in offered]),
        regime=Regime.UK,
        sources=("HSE GS38 (4 mm of bare tip)", "IEC 61010-031", PRACTICE),
        picture=picture(60, [*probe(110, 30, 40), text(190, 14, "bare tip: ? mm", anchor="start")]),
        picture_text="A test probe; how much of its tip is bare stands in the answers.",
    )


def _kit(rating: Rating, bare_mm: float) -> Leads:
    return Leads(in_service=True, damaged=False, category=rating.category, rated_v=rating.volts, bare_tip_mm=bare_mm)


def _lead(rating: Rating, bare_mm: int) -> Choice:
    words, most = f"{_printed(rating)}, {bare_mm} mm of bare tip", limits.PROBE_TIP_MM.value
    if bare_mm > most:
        return Choice(
            words, f"{bare_mm} mm of bare metal can bridge two points and start an arc; {most:g} mm is the most."
        )
    if rating.category == "II" or rating.volts < limits.SHOP_METER_V.value:
        return Choice(words, f"The tip is short enough, but {_printed(rating)} is under the house's CAT III 1 000 V.")
    return Choice(words, f"{_printed(rating)} meets the house's floor, and {bare_mm} mm is within {most:g} mm.")


# ---------------------------------------------------------------- proving
_SOURCES: dict[tuple[str, Current], tuple[str, str]] = {
    ("proving unit", "DC"): ("A proving unit set to DC", "It gives {gives}, and the tester measures {asked}."),
    ("proving unit", "AC"): ("A unit that gives AC volts", "It gives {gives}, and the tester measures {asked}."),
    ("12 V battery", "DC"): ("The vehicle's 12 V battery", "12 V proves neither the high range nor the leads there."),
    ("self-test", "DC"): ("The tester's own self-test", "It looks at lamps and battery, not at leads and input."),
    ("open live HV point", "DC"): ("The pack's own live terminals", "Nobody opens a live point to prove a tester."),
}
_RIGHT_SOURCE = "It gives {gives} as the tester measures, at a voltage that tries leads and range."
_BY_PROCEDURE = "Elsewhere 12 V would not do; this vehicle's procedure names it, and it gives DC."


def proving_source_choice(chance: random.Random) -> Drawn:
    """What to prove the tester on: same kind of voltage, and a source that tries the whole chain."""
    asked: Current = chance.choice(("DC", "DC", "AC"))
    by_procedure = asked == "DC" and chance.choice((True, False))
    unit: tuple[str, Current] = ("proving unit", "AC" if by_procedure or asked == "AC" else "DC")
    others = [source for source in _SOURCES if source != unit and (by_procedure or asked == "AC" or source[1] == "DC")]
    sources = [unit, *_others(chance, others, by_procedure, asked)]
    vehicle, dc_v = chance.choice(_VEHICLES), chance.randrange(340, 861, 10)
    says = "accepts the 12 V battery as a known source" if by_procedure else "names no source of its own"
    points = "the phases U, V and W of the inverter" if asked == "AC" else "HV+ and HV- of the inverter"
    return Drawn(
        topic=Topic.METERS,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"On {vehicle} with up to {figure(dc_v)} V DC you are to measure {points} for {asked} voltage. The maker's"
            f" procedure for it {says}."
        ),
        stem="What do you prove the tester on, before and after?",
        options=one_of(
            chance,
            [
                (_source(each, asked, proof), proof is Proof.PROVES)
                for each in sources
                for proof in [proving_source(*each, asked, by_procedure)]
            ],
        ),
        sources=("HSE GS38; HSG85", MAKER, PRACTICE),
        picture=picture(
            130, [*meter(20, 8, [asked]), line(130, 60, 200, 60), label(200, 40, 130, ["known source: ?"])]
        ),
        picture_text=f"A tester set to {asked}, and beside it a known source to be chosen.",
    )


def _others(
    chance: random.Random, sources: list[tuple[str, Current]], by_procedure: bool, asked: Current
) -> list[tuple[str, Current]]:
    battery: tuple[str, Current] = ("12 V battery", "DC")
    if by_procedure:
        untested: list[tuple[str, Current]] = [("self-test", "DC"), ("open live HV point", "DC")]
        return [battery, chance.choice(untested)]
    trap: tuple[str, Current] = ("proving unit", "DC") if asked == "AC" else battery
    return [trap, chance.choice([source for source in sources if source != trap])]


def _source(source: tuple[str, Current], asked: Current, proof: Proof) -> Choice:
    words, why = _SOURCES[source]
    if proof is Proof.PROVES:
        why = _BY_PROCEDURE if source[0] == "12 V battery" else _RIGHT_SOURCE
    return Choice(words, why.format(gives=source[1], asked=asked))


# ---------------------------------------------------------------- insulation
_PARTS = ("junction box", "heater", "compressor", "charger", "inverter")


def insulation_test_volts(chance: random.Random) -> Drawn:
    """Which voltage to test one part with: the maker's; without it none, save for a bare cable off at both ends."""
    known = chance.choice(("maker", "nothing", "bare cable"))
    dc_v = chance.choice((chance.randrange(340, 481, 10), chance.randrange(620, 861, 10)))
    maker_v = chance.choice((250, 500)) if known == "maker" else None
    part = "cable" if known == "bare cable" else chance.choice(_PARTS)
    right_v = _test_volts(maker_v, part == "cable", dc_v)
    mistakes = [volts for volts in _usual_mistakes(known, dc_v) if volts != right_v]
    wrong = [Choice(_test_with(volts), _not_so(volts, known, maker_v, dc_v)) for volts in mistakes]
    right = Choice(_test_with(right_v), _why_volts(known, maker_v, dc_v))
    says = "gives no test voltage for it" if maker_v is None else f"says {maker_v} V"
    off = "unplugged at both ends and rated 1 000 V" if part == "cable" else "unplugged, its terminals free"
    return Drawn(
        topic=Topic.METERS,
        kind=Kind.PICK_ONE,
        consequence=Consequence.DAMAGE,
        situation=(
            f"The HV system of {chance.choice(_VEHICLES)} goes up to {figure(dc_v)} V DC and is proved dead. One {part}"
            f" is to be tested for insulation. It is {off}. The maker {says}. The tester has 250, 500 and 1 000 V."
        ),
        stem="How do you set the tester?",
        options=pick_one(chance, right, wrong),
        sources=(MAKER, "ISO 6469-3 8.2.2 (bare cable)", PRACTICE),
        picture=picture(140, [*meter(20, 8, ["? V"]), line(130, 60, 220, 60), label(220, 40, 110, [part])]),
        picture_text=f"An insulation tester, its voltage not yet set, on one {part}.",
    )


def _test_volts(maker_v: float | None, bare_cable: bool, dc_v: float) -> int | None:
    try:
        return int(insulation.volts_to_test_with(maker_v, bare_cable=bare_cable, highest_v=dc_v, rated_v=1000))
    except MakerValueMissing:
        return None


def _usual_mistakes(known: str, dc_v: int) -> tuple[int | None, ...]:
    """By the highest voltage, by habit, and holding back; a bare cable is not tried higher than it needs."""
    if known == "bare cable":
        return (250, None) if dc_v <= 500 else (500, None)
    return (500, None, 1000) if dc_v <= 500 else (1000, 500, None)


def _test_with(volts: int | None) -> str:
    return "Get the figure first" if volts is None else f"Set {figure(volts)} V, then test"


def _why_volts(known: str, maker_v: int | None, dc_v: int) -> str:
    if known == "maker":
        return f"The maker's {maker_v} V decides, not the system's {figure(dc_v)} V: more may kill filters and boards."
    if known == "bare cable":
        return f"A bare cable off at both ends is tried at or above the system's {figure(dc_v)} V, within its 1 000 V."
    return "Without the maker's figure a part is not tested: too much kills its filters, too little shows nothing."


def _not_so(volts: int | None, known: str, maker_v: int | None, dc_v: int) -> str:
    if known == "nothing":
        return f"{volts} V is a guess. {_why_volts(known, maker_v, dc_v)}"
    if volts is None:
        return f"The figure is there already. {_why_volts(known, maker_v, dc_v)}"
    if known == "bare cable":
        return f"{volts} V stays under the system's {figure(dc_v)} V, and a weak spot stays hidden."
    more = volts > (maker_v or 0)
    return f"{figure(volts)} V is {'more' if more else 'less'} than the maker's {maker_v} V: it {_HARM[more]}."


_HARM = {True: "may kill filters and boards", False: "may leave a weak spot hidden"}


# ---------------------------------------------------------------- laboratory
def two_voltage_laboratory(chance: random.Random) -> Drawn:
    """The two-voltage method as arithmetic of the test laboratory: the resistance of the weaker side."""
    total_v = chance.randrange(360, 841, 20)
    weaker, stronger = chance.choice((30, 60, 100, 180, 250)), chance.choice((400, 600, 750, 900, 1200))
    resistor = round(chance.choice((100, 500)) * total_v / 1000)
    sides = (weaker, stronger) if chance.choice((True, False)) else (stronger, weaker)
    positive_v, negative_v = (round(total_v * side / sum(sides), 1) for side in sides)
    loaded = stronger * resistor / (stronger + resistor)
    with_v = round(total_v * loaded / (weaker + loaded), 1)
    found = insulation.two_voltage(total_v, negative_v, positive_v, resistor * 1e3, with_v, 10e6)
    value = found.weaker_side_ohm / 1000
    across = max(negative_v, positive_v)
    side = "minus" if found.resistor_across == "negative" else "plus"
    return Drawn(
        topic=Topic.METERS,
        kind=Kind.WORK_OUT,
        consequence=Consequence.LIFE,
        situation=(
            f"{insulation.LABORATORY_ONLY.capitalize()}; no workshop does this. A pack has {total_v} V. Minus to body"
            f" reads {negative_v:.1f} V, plus to body {positive_v:.1f} V. With {resistor} kohm from {side} to body that"
            f" reading falls to {with_v:.1f} V. The rule is R = Ro x Vb x (1/V' - 1/V)."
        ),
        stem="How many kohm has the weaker side?",
        number=NumberAnswer(
            value=round(value, 1),
            unit="kohm",
            tolerance=max(0.5, round(0.02 * value, 1)),
            reason=(
                f"{resistor} kohm x {total_v} V x (1/{with_v:.1f} V - 1/{across:.1f} V) = {figure(value, 1)} kohm. The"
                " pack stays live throughout: in the workshop read the monitor, isolate, and test part by part."
            ),
        ),
        sources=("UN R100 Annex 5", "UN R100 Annex 5A, note 1 (size of the resistor)"),
        picture=_two_sides(total_v, resistor, found.resistor_across == "negative"),
        picture_text=f"A pack of {total_v} V between plus and minus; {resistor} kohm goes from {side} to body.",
    )


def _two_sides(total_v: int, resistor: int, at_minus: bool) -> str:
    pack = [box(30, 30, 90, 70), text(75, 70, f"{total_v} V"), text(20, 40, "+"), text(20, 98, "-")]
    rails = [line(120, 40, 300, 40), line(120, 90, 300, 90), line(170, 130, 300, 130), text(236, 146, "body")]
    end_y = 90 if at_minus else 40
    return picture(
        154, [*pack, *rails, arrow(230, 130, 230, end_y), text(240, 118, f"{resistor} kohm", anchor="start")]
    )

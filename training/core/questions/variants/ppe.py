"""Questions on protective equipment other than gloves: visor, clothing, metal on the body, marks, arc rating."""

from __future__ import annotations

import random
from datetime import date

from training.core.questions.drawing import label, picture
from training.core.questions.kinds import Consequence, Kind, Regime, Topic
from training.core.questions.variants.drawn import PRACTICE, Choice, Drawn, figure, one_of, pick_all, plain
from training.core.questions.variants.shapes import rows_of_text, visor
from training.core.trade import ppe
from training.core.trade.fitness import Job, Visor, fitness

_ANY_DAY = date(2026, 6, 1)  # a visor's marking does not age


# ---------------------------------------------------------------- visor
_FIELDS = {"3": "splashes", "4": "coarse dust", "9": "molten metal"}


def visor_choice(chance: random.Random) -> Drawn:
    """Which visor covers the arc that this job can make."""
    opened, dc_v, strength = chance.choice((False, True)), chance.randrange(340, 861, 10), chance.choice("FB")
    job = Job(highest_dc_v=dc_v, highest_ac_v=0, point_of_work="inside the pack" if opened else "junction box")
    others = chance.sample(sorted(_FIELDS), 1 if opened else 2)
    offered = [Visor(in_service=True, damaged=False, marking=f"{field} {strength}") for field in others]
    offered += [Visor(in_service=True, damaged=False, marking=f"8 {strength}", arc_class=False)]
    if opened:
        offered += [Visor(in_service=True, damaged=False, marking=f"8 {strength}", arc_class=True)]
    where = "in a pack with its cover off" if opened else "at a junction box that is not yet proved dead"
    return Drawn(
        topic=Topic.PPE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.INJURY,
        situation=(
            f"You are to measure {where}. The HV system carries up to {figure(dc_v)} V DC. Three undamaged visors"
            " hang in the locker."
        ),
        stem="Which one do you put on, by what is printed on it?",
        options=one_of(
            chance,
            [(_visor(each, opened), fitness(each, job, _ANY_DAY).fit) for each in offered],
        ),
        sources=("EN 166 (fields of use)", "GS-ET 29 (arc class)", PRACTICE),
        picture=picture(110, [*visor(30, 8, "?"), label(160, 30, 160, ["highest voltage", f"{figure(dc_v)} V DC"])]),
        picture_text=f"A visor whose marks are to be read, and the vehicle's highest voltage: {figure(dc_v)} V DC.",
    )


def _visor(kit: Visor, opened: bool) -> Choice:
    field, strength = str(kit.marking).split()
    words = f"Marked {field} {strength}, {'arc class 1' if kit.arc_class else 'no arc class'}"
    if kit.arc_class:
        return Choice(words, "An opened pack asks for an arc class of its own, and this one was tested for it.")
    if field == "8":
        small = "Field 8 stands for a small arc at a closed part, which is what measuring here could make."
        large = "Field 8 covers a small arc; the cells of an opened pack feed a far bigger one."
        return Choice(words, large if opened else small)
    return Choice(words, f"Field {field} stands for {_FIELDS[field]}, {strength} for flying bits; neither is an arc.")


# ---------------------------------------------------------------- clothing
_SHIRTS = {
    "cotton": "cotton T-shirt",
    "wool": "wool pullover",
    "silk": "silk undershirt",
    "viscose": "viscose shirt",
    "polyester": "polyester sports shirt",
    "fleece": "fleece jacket",
    "polycotton": "polycotton polo shirt",
    "spandex": "spandex cycling shirt",
}
_TROUSERS = {
    "cotton": "cotton trousers",
    "wool": "wool long johns",
    "arc-rated": "arc-rated trousers",
    "nylon": "nylon tights",
    "polyester": "polyester sports trousers",
    "acetate": "acetate-lined trousers",
}


def clothing_under_arc_coat(chance: random.Random) -> Drawn:
    """What to wear next to the skin: nothing in it may melt."""
    good_shirts, bad_shirts = _parted(_SHIRTS)
    good_trousers, bad_trousers = _parted(_TROUSERS)
    first, second = chance.sample(good_shirts, 2)
    # One set melts above, one below, so that neither half alone gives the answer away.
    sets = [
        (first, chance.choice([fibre for fibre in good_trousers if fibre != first])),
        (second, chance.choice(bad_trousers)),
        (chance.choice(bad_shirts), chance.choice(good_trousers)),
    ]
    dc_v = chance.randrange(340, 861, 10)
    return Drawn(
        topic=Topic.PPE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.INJURY,
        situation=(
            f"You will work on an opened pack of up to {figure(dc_v)} V DC and put the arc coat on over your own"
            " things. Three sets lie there."
        ),
        stem="Which set do you put on beneath it?",
        options=one_of(chance, [(_clothes(*each), not ppe.melts(each)) for each in sets]),
        sources=("NFPA 70E 130.7(C)(11)-(12) (from memory, confirm in the standard)", PRACTICE),
        picture=rows_of_text(["arc coat on top", f"opened pack, up to {figure(dc_v)} V DC", "beneath it: ?"]),
        picture_text=f"A sheet: arc coat on top, opened pack of up to {figure(dc_v)} V DC, beneath it a question mark.",
    )


def _parted(garments: dict[str, str]) -> tuple[list[str], list[str]]:
    return [fibre for fibre in garments if not ppe.melts([fibre])], [fibre for fibre in garments if ppe.melts([fibre])]


def _clothes(upper: str, lower: str) -> Choice:
    words = f"{_SHIRTS[upper]} and {_TROUSERS[lower]}"
    words = words[0].upper() + words[1:]
    melting = [fibre for fibre in (upper, lower) if ppe.melts([fibre])]
    if melting:
        return Choice(words, f"Under an arc {melting[0]} melts into the skin, even beneath a coat that holds.")
    return Choice(words, f"Neither {upper} nor {lower} melts, so the heat that comes through the coat does less.")


# ---------------------------------------------------------------- metal
_METAL = {
    "ring": "Wedding ring",
    "watch": "Wrist watch with a steel strap",
    "chain": "Silver neck chain",
    "bracelet": "Steel bracelet",
    "metal pen": "Steel pen in the breast pocket",
    "metal scale": "Steel rule in the thigh pocket",
    "belt buckle": "Belt with a bare brass buckle",
}
_NO_METAL = (
    "Cotton cap",
    "Plastic pen in the breast pocket",
    "Goggles with a plastic frame",
    "Shoes with a plastic toe cap",
    "Cloth belt with a plastic clip",
)


def metal_off(chance: random.Random) -> Drawn:
    """What has to come off before going near open HV parts."""
    named = chance.sample(ppe.METAL_OFF, chance.choice((2, 3)))
    off = {_METAL[each]: True for each in ppe.metal_to_take_off(named)}
    worn = off | dict.fromkeys(chance.sample(_NO_METAL, 4 - len(off)), False)
    dc_v = chance.randrange(48, 861, 4)
    return Drawn(
        topic=Topic.PPE,
        kind=Kind.PICK_ALL,
        consequence=Consequence.INJURY,
        situation=f"You are about to lift the cover off battery terminals that carry {figure(dc_v)} V DC.",
        stem="Which of these do you take off first?",
        options=pick_all(chance, [(_worn(words, metal, dc_v), metal) for words, metal in worn.items()]),
        sources=("29 CFR 1910.333(c)(8) (from memory, confirm)", PRACTICE),
        picture=picture(46, [label(70, 6, 200, [f"terminals, {figure(dc_v)} V DC"])]),
        picture_text=f"A label: terminals, {figure(dc_v)} V DC.",
    )


def _worn(words: str, metal: bool, dc_v: int) -> Choice:
    if not metal:
        return Choice(words, "There is no bare metal on it that could bridge two terminals.")
    if dc_v <= 60:
        return Choice(words, f"At {dc_v} V it may not shock you, but bridging the terminals it glows within a second.")
    return Choice(words, f"Bare metal that bridges or touches {figure(dc_v)} V burns, and draws you into the circuit.")


# ---------------------------------------------------------------- marks and ratings
_GOODS = ("arc visors", "arc coats", "insulating overshoes", "insulating sleeves")


def ppe_mark_eu(chance: random.Random) -> Drawn:
    """Which piece is marked as electrical PPE has to be in the EU: CE and the four digits of a notified body."""
    # Above the numbers given out, so that no real body is named.
    body = str(chance.randint(7000, 9899))
    marks = [(True, body), *chance.sample([(True, ""), (True, body[:3]), (False, body), (True, "EN 61482")], 2)]
    goods = chance.choice(_GOODS)
    return Drawn(
        topic=Topic.PPE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=f"Three makers have sent {goods} to a workshop in Germany. You unpack them and read the labels.",
        stem="Which label is complete for gear against electricity?",
        options=one_of(
            chance, [(_marked(*mark), ppe.eu_marking_ok(ce_mark=mark[0], notified_body=mark[1])) for mark in marks]
        ),
        regime=Regime.EU,
        sources=("Regulation (EU) 2016/425, category III",),
        picture=rows_of_text([goods, "label: ?"]),
        picture_text=f"A delivery note for {goods}; the label is to be read.",
    )


def _marked(ce_mark: bool, body: str) -> Choice:
    if not ce_mark:
        return Choice(f"Number {body}, but no CE beside it", "Without CE nobody declares that it keeps to the rules.")
    if not body:
        return Choice("CE, and no number beside it", "CE alone is the maker's own word; no body looks after it.")
    if not body.isdecimal():
        return Choice(f"CE, and {body} beside it", "A standard's number is no body's number; nobody is named to check.")
    if len(body) != len("0000"):
        return Choice(f"CE, and {body} beside it", f"A notified body has four digits; {body} has {len(body)}.")
    return Choice(f"CE, and {body} beside it", f"CE with four digits: body {body} keeps watch over its making.")


_RATINGS = (8, 12, 20, 25, 31, 40)


def arc_coat_by_study(chance: random.Random) -> Drawn:
    """The lightest coat whose rating reaches the energy that the study names."""
    ratings = sorted(chance.sample(_RATINGS, 3))
    energy = chance.randrange(43, ratings[-1] * 10 - 4, 3) / 10
    enough = [rating for rating in ratings if ppe.arc_rated_for(rating, energy)]
    dc_v = chance.randrange(340, 861, 10)
    return Drawn(
        topic=Topic.PPE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"The arc study for work on an opened pack of {figure(dc_v)} V DC names {plain(energy)} cal/cm2 at your"
            " chest. Three coats hang there, each with its arc rating."
        ),
        stem="Which is the lightest coat that will do?",
        options=one_of(chance, [(_coat(rating, energy, min(enough)), rating == min(enough)) for rating in ratings]),
        regime=Regime.US,
        sources=("NFPA 70E 130.5(G) (confirm in the standard)", "ASTM F1959 (what a rating means)"),
        picture=rows_of_text(["arc study", f"{plain(energy)} cal/cm2 at the chest"]),
        picture_text=f"An arc study: {plain(energy)} cal/cm2 at the chest.",
    )


def _coat(rating: int, energy: float, lightest: int) -> Choice:
    words = f"Coat rated {rating} cal/cm2"
    if rating < lightest:
        return Choice(words, f"{rating} is below the study's {plain(energy)} cal/cm2: the heat burns through.")
    if rating == lightest:
        return Choice(words, f"{rating} is the first rating here at or above the study's {plain(energy)} cal/cm2.")
    return Choice(words, f"It would hold, but {lightest} cal/cm2 is enough and lets you move and feel more.")

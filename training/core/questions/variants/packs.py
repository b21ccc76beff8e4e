"""Questions on packs: a table for one, where table and pack balance, when to look at a damaged one, what frees it."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

from training.core.questions.drawing import arrow, box, label, line, picture, text
from training.core.questions.kinds import Consequence, Kind, NumberAnswer, Topic
from training.core.questions.variants.drawn import (
    MAKER,
    PRACTICE,
    Choice,
    DrawFailed,
    Drawn,
    day_text,
    figure,
    one_of,
    pick_one,
)
from training.core.questions.variants.shapes import rows_of_text
from training.core.trade import quarantine, tables
from training.core.trade.quarantine import Damage, Judgement

_RATINGS = (400, 500, 600, 700, 800, 1000, 1200)


# ---------------------------------------------------------------- tables
def table_for_pack(chance: random.Random) -> Drawn:
    """The smallest table whose rating covers pack and fixture together."""
    nearest = chance.randrange(1, len(_RATINGS) - 1)
    fixture_kg = chance.randrange(30, 71, 5)
    # The rating just below covers the pack alone, which is the usual mistake.
    pack_kg = _RATINGS[nearest - 1] - chance.randrange(5, fixture_kg - 4, 5)
    further = _RATINGS[nearest + 1] if nearest == 1 or chance.choice((True, False)) else _RATINGS[nearest - 2]
    offered = [_RATINGS[nearest], _RATINGS[nearest - 1], further]
    covering = [rated for rated in offered if tables.rating_covers(rated, pack_kg, fixture_kg)]
    return Drawn(
        topic=Topic.EQUIPMENT_CHOICE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"A pack of {figure(pack_kg)} kg comes out on a fixture of {fixture_kg} kg. Three lift tables are free; on"
            " each the pack would stand well centred."
        ),
        stem="Which rating is the smallest that will do?",
        options=one_of(
            chance, [(_table(rated, pack_kg, fixture_kg, min(covering)), rated == min(covering)) for rated in offered]
        ),
        sources=("the table maker's plate and load chart", PRACTICE),
        picture=_pack_on_table([f"pack {figure(pack_kg)} kg", f"fixture {fixture_kg} kg"]),
        picture_text=f"A lift table with a fixture of {fixture_kg} kg and a pack of {figure(pack_kg)} kg on it.",
    )


def _table(rated_kg: int, pack_kg: int, fixture_kg: int, smallest_kg: int) -> Choice:
    both = f"Pack and fixture are {figure(pack_kg + fixture_kg)} kg together."
    words = f"{figure(rated_kg)} kg"
    if rated_kg < pack_kg:
        return Choice(words, f"{both} {figure(rated_kg)} kg does not even bear the pack.")
    if rated_kg < smallest_kg:
        return Choice(words, f"{both} {figure(rated_kg)} kg bears the pack alone, and the fixture comes on top.")
    if rated_kg == smallest_kg:
        return Choice(words, f"{both} {figure(rated_kg)} kg is the first rating here that covers both.")
    return Choice(words, f"{both} It would bear them, and so does the smaller one of {figure(smallest_kg)} kg.")


def _pack_on_table(words: list[str]) -> str:
    shapes = [box(40, 110, 120, 10), line(60, 110, 140, 78), line(140, 110, 60, 78), line(36, 76, 164, 76)]
    return picture(126, [*shapes, box(30, 64, 140, 10), box(24, 38, 152, 24), label(196, 50, 136, words)])


def table_shared_centre(chance: random.Random) -> Drawn:
    """How far off its middle table and pack together have their centre of gravity."""
    loaded = tables.LoadedTable(
        table_kg=chance.randrange(200, 381, 10),
        load_kg=chance.randrange(360, 741, 10),
        offset_m=chance.randrange(40, 201, 10) / 1000,
        half_base_m=chance.choice((0.35, 0.4, 0.45)),
    )
    offset_mm, together_mm = loaded.offset_m * 1000, loaded.combined_offset_m * 1000
    both_kg = loaded.table_kg + loaded.load_kg
    return Drawn(
        topic=Topic.BATTERY,
        kind=Kind.WORK_OUT,
        consequence=Consequence.INJURY,
        situation=(
            f"A pack of {figure(loaded.load_kg)} kg stands on a lift table of {figure(loaded.table_kg)} kg. The pack's"
            f" centre of gravity is {offset_mm:.0f} mm off the table's middle, where the table has its own."
        ),
        stem="How many mm off the middle is the centre of gravity of both together?",
        number=NumberAnswer(
            value=round(together_mm, 1),
            unit="mm",
            tolerance=max(1.0, round(0.02 * together_mm, 1)),
            reason=(
                f"{figure(loaded.load_kg)} kg x {offset_mm:.0f} mm / {figure(both_kg)} kg = {together_mm:.1f} mm. It is"
                " for understanding: the table's chart decides, else 100 mm for the pack, and a push comes on top."
            ),
        ),
        sources=("statics: x = W e / (Wt + W)", "the table maker's load chart", PRACTICE),
        picture=_off_middle(offset_mm, loaded.half_base_m * 1000),
        picture_text=f"A lift table from the side; the pack's centre of gravity is {offset_mm:.0f} mm off its middle.",
    )


def _off_middle(offset_mm: float, half_base_mm: float) -> str:
    base_px, shift_px = half_base_mm * 0.2, offset_mm * 0.2
    shapes = [box(170 - base_px, 100, 2 * base_px, 10), line(170, 62, 170, 100, dashed=True), line(90, 60, 250, 60)]
    shapes += [box(100 + shift_px, 34, 140, 24), arrow(170 + shift_px, 8, 170 + shift_px, 44)]
    return picture(120, [*shapes, text(260, 86, f"{offset_mm:.0f} mm off")])


# ---------------------------------------------------------------- damaged packs
_WRECKS: tuple[tuple[str, Damage], ...] = (
    ("A van hit from the side, its pack dented and dry,", "dry"),
    ("A car that ran over a kerb with its pack, dry all along,", "dry"),
    ("A hybrid from a rear-end crash, dry inside,", "dry"),
    ("A car that stood in salt water up to the sills", "flooded"),
    ("A van from a flooded underground garage", "flooded"),
)


def quarantine_first_look(chance: random.Random) -> Drawn:
    """When a damaged pack may be looked at for the first time; flooded, no day can be set."""
    wreck, damage = chance.choice(_WRECKS)
    # Without a change of the clocks between, and without naming a zone.
    since = datetime(2026, 5, 1, tzinfo=UTC) + timedelta(minutes=chance.randrange(0, 100 * 24 * 60, 5))
    earliest = quarantine.earliest_check(damage, since)
    right = _NO_DAY if earliest is None else Choice(_from(earliest), _dry_reason(since, 72))
    hours = (72, 168) if earliest is None else (chance.choice((24, 48)),)
    wrong = [Choice(_from(since + timedelta(hours=each)), _early_reason(damage, since, each)) for each in hours]
    if earliest is not None:
        wrong.append(Choice(_NO_DAY.text, f"That is said of flooded packs. {_dry_reason(since, 72)}"))
    return Drawn(
        topic=Topic.BATTERY,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"{wreck} has been in quarantine outdoors since {_moment(since)}. It is quiet. The pack is still in it, and"
            " the maker has not been asked yet."
        ),
        stem="When may somebody cleared for it check it for the first time?",
        options=pick_one(chance, right, wrong),
        sources=("NHTSA interim guidance on damaged HV batteries", PRACTICE),
        picture=rows_of_text(["quarantine", f"since {_moment(since)}", damage]),
        picture_text=f"A tag: quarantine since {_moment(since)}, {damage}.",
    )


_FLOODED = "Flooded packs have burned days to weeks later: it stays out until it is judged on the maker's advice."
_NO_DAY = Choice("No day can be named yet", _FLOODED)


def _dry_reason(since: datetime, hours: int) -> str:
    return f"Dry damage: not before {hours} h after {_moment(since)}. That is a time to look; it releases nothing."


def _early_reason(damage: Damage, since: datetime, hours: int) -> str:
    if damage == "flooded":
        return f"{hours} h are no rule for a flooded pack. {_FLOODED}"
    return f"{hours} h are too short: cells may take longer to run hot. {_dry_reason(since, 72)}"


def _moment(at: datetime) -> str:
    return f"{day_text(at.date())}, {at:%H:%M}"


def _from(at: datetime) -> str:
    return f"From {_moment(at)} on"


_FINDINGS = {
    "temperature_not_rising": ("the temperature log is flat", "the temperature log still rises", "temperature"),
    "no_gas_no_noise": ("no gas, smell or noise", "nobody has looked for gas yet", "gas_or_noise"),
    "isolation_value_good": ("the isolation value is good", "the isolation value is not read yet", "isolation_value"),
    "cell_values_good": ("the cell values are good", "the cell values are not read yet", "cell_values"),
    "signed_by_cleared_person": ("somebody cleared has signed", "nobody cleared has signed", "signature"),
}
_HOLDS_BACK = {
    "temperature": "It stays, for the temperature",
    "gas_or_noise": "It stays, for gas and noise",
    "isolation_value": "It stays, for the isolation",
    "cell_values": "It stays, for the cell values",
    "signature": "It stays, for the signature",
}


def quarantine_release(chance: random.Random) -> Drawn:
    """Whether a dry damaged pack may leave quarantine, or what is still lacking; days gone by are no argument."""
    lacking = chance.choice((None, *_FINDINGS))
    found = Judgement(damage="dry", **{name: name != lacking for name in _FINDINGS})
    codes = [reason.code for reason in quarantine.not_released(found)]
    if len(codes) > 1:
        raise DrawFailed(f"More than one thing holds it back: {codes}")
    told = [words[name == lacking] for name, words in _FINDINGS.items()]
    days = chance.randint(4, 30)
    since = f"After {days} days in quarantine a dry dented pack is judged"
    others = chance.sample([code for code in _HOLDS_BACK if code not in codes], 2)
    offered = [*codes, *others][:2]
    return Drawn(
        topic=Topic.BATTERY,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=f"{since}. The sheet says: {'; '.join(chance.sample(told, len(told)))}.",
        stem="What do you decide?",
        options=one_of(
            chance,
            [
                (Choice("Release it from quarantine", _release_reason(days, lacking)), not codes),
                *((Choice(_HOLDS_BACK[code], _stay_reason(code, codes)), code in codes) for code in offered),
            ],
        ),
        sources=("NHTSA interim guidance on damaged HV batteries", MAKER, PRACTICE),
        picture=rows_of_text([f"quarantine, day {days}", "temperature, gas, isolation", "cells, signature"]),
        picture_text=f"A release sheet on day {days}: temperature, gas, isolation, cells, signature.",
    )


def _release_reason(days: int, lacking: str | None) -> str:
    if lacking is None:
        return f"All five findings are there and good. They release it; the {days} days do not."
    return f"{days} days release nothing, and the sheet says: {_FINDINGS[lacking][1]}."


def _stay_reason(code: str, codes: list[str]) -> str:
    good, bad, _ = next(words for words in _FINDINGS.values() if words[2] == code)
    return f"The sheet says: {bad if code in codes else good}."

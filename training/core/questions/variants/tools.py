"""Questions on insulated tools: which of three bears every mark of the standard."""

from __future__ import annotations

import random

from training.core.questions.drawing import label, picture
from training.core.questions.kinds import Consequence, Kind, Topic
from training.core.questions.variants.drawn import PRACTICE, Choice, DrawFailed, Drawn, figure, pick_one
from training.core.trade import tools

_TOOLS = ("Ratchet", "Ring spanner", "Screwdriver", "Side cutter", "Socket")
# What stands on the tool in the place of a missing mark.
_INSTEAD = {
    "double triangle": "lightning flash",
    "1000 V": "two-layer grip",
    "standard number": "word 'insulated'",
    "year": "quality seal",
}
_PRINTED = {"standard number": "IEC 60900", "maker": "maker's name", "reference": "part number", "year": "year of make"}


def insulated_tool_choice(chance: random.Random) -> Drawn:
    """Which tool is an insulated tool; the others lack one mark each."""
    names = chance.sample(_TOOLS, 3)
    lacking = ["", *chance.sample(sorted(_INSTEAD), 2)]
    dc_v = chance.randrange(360, 851, 10)
    whole = [name for name, lack in zip(names, lacking, strict=True) if _is_insulated(lack, dc_v)]
    if whole != [names[0]]:
        raise DrawFailed("Not exactly one tool bears every mark")
    choices = [_tool(name, lack) for name, lack in zip(names, lacking, strict=True)]
    return Drawn(
        topic=Topic.EQUIPMENT_CHOICE,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=f"You are to work at the terminals of a pack with up to {figure(dc_v)} V DC. Three tools lie there.",
        stem="Which one do you take, by what is printed on it?",
        options=pick_one(chance, choices[0], choices[1:]),
        sources=("IEC 60900:2018", PRACTICE),
        picture=picture(46, [label(90, 6, 160, [f"up to {figure(dc_v)} V DC"])]),
        picture_text=f"The pack's label: up to {figure(dc_v)} V DC.",
    )


def _is_insulated(lack: str, dc_v: float) -> bool:
    seen = [mark for mark in tools.MARKS if mark != lack]
    return not tools.missing_marks(seen) and tools.within_scope(dc_v, 0)


def _tool(name: str, lack: str) -> Choice:
    printed = [_INSTEAD[mark] if mark == lack else _PRINTED.get(mark, mark) for mark in tools.MARKS]
    reason = (
        f"It lacks one mark: {_PRINTED.get(lack, lack)}. Without it nobody answers for the insulation."
        if lack
        else "It bears all six marks of the standard, which reaches 1 500 V DC. Look at it for cracks before use."
    )
    return Choice(f"{name}: {', '.join(printed)}", reason)

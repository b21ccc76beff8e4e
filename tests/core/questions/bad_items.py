"""Two spoiled questions for each lint rule, each breaking that rule and no other, and sound ones that break none."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from tests.core.questions.builders import SOUND, in_order, pick_all, pick_one, work_out
from training.core.questions.kinds import Question
from training.core.questions.lint import BankEntry, fingerprint

NOTHING_KNOWN = BankEntry()
APPROVED = BankEntry(approved=True)
LONG_WORDED = (
    "Isolation verification documentation necessitates unambiguous identification of instrumentation configurations,"
    " reference potentials and terminal designations."
)


def reasoned(index: int, reason: str) -> Question:
    """The sound question with another reason for one option."""
    options = tuple(replace(option, reason=reason) if n == index else option for n, option in enumerate(SOUND.options))
    return replace(SOUND, options=options)


def positions(counts: list[int]) -> list[Question]:
    """Sound pick-one questions whose right option stands first, second ... this often."""
    texts = ["Wait out the time", "Fetch the key box", "Call for the lead", "Cover the outlet"][: len(counts)]
    places = [place for place, count in enumerate(counts) for _ in range(count)]
    return [pick_one(texts, place, id=f"placed-{n}", stem="What do you do next?") for n, place in enumerate(places)]


BAD_ITEMS: list[tuple[str, Question, BankEntry]] = [
    ("L1", pick_one(["Prove the meter again", "Write the reading down"]), NOTHING_KNOWN),
    ("L1", pick_all([False, False, False]), NOTHING_KNOWN),
    ("L2", pick_one(["Prove the meter", "Fetch another meter", "None of the above"]), NOTHING_KNOWN),
    ("L2", pick_one(["Prove the meter", "Fetch another meter", "Both A and B"]), NOTHING_KNOWN),
    ("L3", replace(SOUND, stem="Which of these acts must not come first?"), NOTHING_KNOWN),
    ("L3", replace(SOUND, stem="Which act does NOT come before you take the gloves off?"), NOTHING_KNOWN),
    ("L4", pick_one(["Prove the meter again", "Never take the gloves off", "Write down the reading"]), NOTHING_KNOWN),
    (
        "L4",
        pick_one(["Prove the meter again", "Measure at the plus pole only", "Write down the reading"]),
        NOTHING_KNOWN,
    ),
    ("L5", replace(SOUND, stem="Which act usually comes before you take the gloves off?"), NOTHING_KNOWN),
    (
        "L5",
        pick_one(
            [
                "Prove the meter, for it may be broken",
                "Write the reading on the record",
                "Close the cover over the plug",
            ]
        ),
        NOTHING_KNOWN,
    ),
    (
        "L6",
        pick_one(
            [
                "Prove the meter again with the same leads on the known source",
                "Write the reading down",
                "Close the cover now",
            ]
        ),
        NOTHING_KNOWN,
    ),
    (
        "L6",
        pick_one(["Call the mentor", "Drive on", "Stop, leave the bay and tell the lead what happened"], 2),
        NOTHING_KNOWN,
    ),
    (
        "L7",
        replace(
            SOUND,
            stem="When do you trust a reading by a proved instrument, and what do you prove first?",
            options=pick_one(["The instrument again", "The colour of the lead", "The date of the plug"]).options,
        ),
        NOTHING_KNOWN,
    ),
    (
        "L7",
        pick_one(
            ["Cut the contactor feed", "Lift the car on the arms", "Drain the coolant loop"],
            stem="Which act stops a contactor from closing?",
        ),
        NOTHING_KNOWN,
    ),
    (
        "L8",
        pick_one(["insulation tester", "bench supply unit", "torque wrench set"], stem="For this reading you fetch an"),
        NOTHING_KNOWN,
    ),
    (
        "L8",
        pick_one(
            ["visors with a chin guard", "a pair of dry boots", "an apron of thick rubber"],
            stem="Over your eyes what you need are",
        ),
        NOTHING_KNOWN,
    ),
    (
        "L9",
        pick_one(["Lock the plug, hang the label", "Lock the plug and wait beside", "Hang the label beneath a seat"]),
        NOTHING_KNOWN,
    ),
    (
        "L9",
        pick_one(["Boots, gloves, visor, apron", "Boots and gloves with rings on", "Visor and apron over fleece"]),
        NOTHING_KNOWN,
    ),
    ("L10", pick_one(["500 V", "1 000 V", "1000 V"], 0, stem="Which range do you set?"), NOTHING_KNOWN),
    ("L10", pick_one(["Prove the meter", "Write the reading down", "Prove meter"]), NOTHING_KNOWN),
    (
        "L11",
        pick_one(["10 - 30 V", "20 - 60 V", "60 - 90 V"], stem="In which range does the reading lie?"),
        NOTHING_KNOWN,
    ),
    ("L11", pick_one(["600 kg", "450 kg", "900 kg"], stem="What does the rear pad carry?"), NOTHING_KNOWN),
    ("L12", pick_one(["Prove the meter again.", "Write the reading down", "Close the cover now"]), NOTHING_KNOWN),
    ("L12", pick_one(["Prove the meter again", "write the reading down", "Close the cover now"]), NOTHING_KNOWN),
    ("L13", replace(SOUND, stem="Before you take the gloves off"), NOTHING_KNOWN),
    ("L13", replace(SOUND, stem="Which of these is correct?"), NOTHING_KNOWN),
    (
        "L14",
        replace(SOUND, situation="The van stands in the bay, the hood up and the key in a box. " * 8),
        NOTHING_KNOWN,
    ),
    ("L14", replace(SOUND, situation=LONG_WORDED), NOTHING_KNOWN),
    ("L16", SOUND, BankEntry(hinges_on="meter-first-reading")),
    (
        "L16",
        replace(SOUND, situation="You did what the last question asked. The meter shows 0 V between both poles."),
        NOTHING_KNOWN,
    ),
    ("L17", replace(SOUND, sources=()), NOTHING_KNOWN),
    ("L17", SOUND, APPROVED),
    ("L18", reasoned(0, ""), NOTHING_KNOWN),
    ("L18", reasoned(2, "   "), NOTHING_KNOWN),
    ("L19", reasoned(1, "This is wrong and unsafe."), NOTHING_KNOWN),
    ("L19", reasoned(2, "No, never do that."), NOTHING_KNOWN),
    (
        "L20",
        replace(SOUND, situation="You have pulled the disconnect. The meter reads 38 between the poles."),
        NOTHING_KNOWN,
    ),
    ("L20", replace(SOUND, situation="The job asks for CAT III leads. Yours are marked CAT II."), NOTHING_KNOWN),
    ("L21", replace(SOUND, picture="<svg/>"), NOTHING_KNOWN),
    ("L21", replace(SOUND, situation="Of the two covers the green one is open. The meter shows 0 V."), NOTHING_KNOWN),
    ("L22", replace(SOUND, author="J. Doe", checker="j. doe "), APPROVED),
    ("L22", replace(SOUND, checker="Hookside"), NOTHING_KNOWN),
    ("L23", pick_one(["Take hold of the hook", "Take hold off the hook", "Run for the switch"]), NOTHING_KNOWN),
    (
        "L23",
        pick_one(
            [
                "Switch on before you prove the meter",
                "Write the reading on the record sheet",
                "Switch off before you prove the meter",
            ],
            2,
        ),
        NOTHING_KNOWN,
    ),
    ("L24", replace(SOUND, stem="Which act comes first?"), BankEntry(answered_fingerprint=fingerprint(SOUND))),
    ("L24", work_out(12.5, 0.2), BankEntry(answered_fingerprint=fingerprint(work_out(12.5, 0.5)))),
]

# L15 and the share of L6 belong to a whole bank.
BAD_BANKS: list[tuple[str, list[Question]]] = [
    ("L15", positions([18, 8, 8, 6])),  # competence rules L15: chi square 8.8 > 7.815
    ("L15", positions([24, 6, 6])),
    (
        "L6",
        [
            replace(question, options=pick_one(["Lift the van", "Wait a bit", "Shout out"]).options)
            for question in positions([12])
        ],
    ),
    ("S8", [SOUND, SOUND]),
]

_ORDERS = [
    ["Prove the meter on the known source", "Test the poles", "Prove the meter again", "Write the values down"],
    ["Pull the disconnect", "Lock it", "Wait the maker's time", "Measure every pair"],
    ["Stop and shout", "Send someone for help", "Use the hook", "Look for breathing"],
    ["Roll up the cuff", "Squeeze the trapped air", "Listen at the fingers"],
]
_PICKS = [
    (
        ["Stop and call the lead", "Carry on with gloves", "Wait for another hour"],
        "38 V stands after ten minutes. What do you do?",
    ),
    (
        ["Lock the plug yourself", "Ask the colleague to watch", "Lay the key on the seat"],
        "You leave for lunch. What secures the car?",
    ),
    (["500 V", "1 000 V", "2 500 V"], "Which voltage do you set on the tester?"),
    (["class 00", "class 0", "class 1"], "Which glove is the lowest that will do?"),
    (["28 Feb 2026", "1 Mar 2026", "31 Aug 2026"], "On which day is the pair out of date?"),
    (["1.07 m", "5 m", "15.24 m"], "How far off do you put the ring?"),
    (["450 kg", "629 kg", "941 kg"], "How much does one rear pad carry?"),
    (
        ["Wear the leather over the rubber", "Wear the rubber over the leather", "Wear the rubber by itself"],
        "How do you put the gloves on?",
    ),
    (
        ["Put the hook around the trunk", "Pull at the sleeve by hand", "Run to the switch in the hall"],
        "A colleague hangs on an opened module. What do you do first?",
    ),
    (
        ["Drop the job, tell the lead", "Wipe it dry with a clean rag", "Turn the glove inside out"],
        "Oil runs over the cuff. What follows?",
    ),
    (
        ["The second person watches the pads", "The second person pumps the table", "The second person holds the lamp"],
        "Who does what while the weight goes over?",
    ),
    (
        ["Outside, far from walls", "In the warm bay by the door", "Under the roof of the wash"],
        "Where does the crashed van stand tonight?",
    ),
]

CLEAN_ITEMS: list[tuple[Question, BankEntry]] = [
    (SOUND, NOTHING_KNOWN),
    (SOUND, BankEntry(answered_fingerprint=fingerprint(SOUND))),
    (replace(SOUND, checker="J. Doe"), APPROVED),
    (replace(SOUND, picture="<svg/>", picture_text="A meter on two poles."), NOTHING_KNOWN),
    (replace(SOUND, situation="The meter is marked CAT III 1 000 V. It reads 38 V after 10 min."), NOTHING_KNOWN),
    (replace(SOUND, situation="An orange cable hangs under the sill. Nobody may touch it yet."), NOTHING_KNOWN),
    (SOUND, BankEntry(on=date(2027, 11, 30))),
    (
        replace(SOUND, stem="Which act comes before you take the gloves off, if nobody has written the reading?"),
        NOTHING_KNOWN,
    ),
    (pick_all([True, False, True, False]), NOTHING_KNOWN),
    (pick_all([True, True, False]), NOTHING_KNOWN),
    (replace(pick_all([True, False, True]), stem="Tick what you do before you put the gloves on."), NOTHING_KNOWN),
    *((in_order(steps), NOTHING_KNOWN) for steps in _ORDERS),
    *(
        (work_out(value, 0.1, unit), NOTHING_KNOWN)
        for value, unit in ((12.5, "V"), (629.1, "kg"), (19.0, "s"), (0.5, "m"))
    ),
    *((pick_one(texts, place, stem=stem), NOTHING_KNOWN) for texts, stem in _PICKS for place in (0, 1)),
]

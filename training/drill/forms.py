"""Reading what was posted on a question: the answer by the letters on the page, the commitment, a step to move."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from django.http import QueryDict
from django.utils.translation import gettext as _

from training.core.questions.kinds import Commitment, Kind, Question
from training.core.questions.marking import BadAnswer, shown_order
from training.web.errors import BadPost

LEAST_MINUTES, USUAL_MINUTES, MOST_MINUTES = 1, 5, 30


def letters_of(question: Question, seed: int) -> Mapping[str, str]:
    """The letter by which the page names each option key: by first place shown, so that it gives nothing away."""
    return dict(zip(shown_order(question, seed), "abcdefgh", strict=False))


def read_minutes(post: QueryDict) -> int:
    """How long the drill should be. Raises ``BadPost`` for anything but a whole number in reach."""
    text = post.get("minutes", str(USUAL_MINUTES)).strip()
    if not (text.isascii() and text.isdigit() and LEAST_MINUTES <= int(text[:4]) <= MOST_MINUTES):
        limits = {"least": LEAST_MINUTES, "most": MOST_MINUTES}
        raise BadPost(_("Give the minutes as a whole number from %(least)d to %(most)d.") % limits)
    return int(text)


def read_response(post: QueryDict, question: Question, letters: Mapping[str, str]) -> tuple[str, ...]:
    """Option keys in the order posted, or the number as typed. Raises ``BadPost`` for a letter that is not shown."""
    posted = post.getlist("choice")
    if question.kind is Kind.WORK_OUT:
        return (posted[0].strip() if posted else "",)
    keys = {letter: key for key, letter in letters.items()}
    if not set(posted) <= set(keys):
        raise BadPost(
            _("One of these answers is not on the page. Nothing was recorded. Reload the page and try again.")
        )
    return tuple(keys[letter] for letter in posted)


def read_commitment(post: QueryDict) -> Commitment:
    """Act on it, or stop and ask. Raises ``BadAnswer`` when neither was said, ``BadPost`` for another word."""
    said = post.get("commitment", "")
    if not said:
        raise BadAnswer(_("Say what you would do: act on it, or stop and ask."))
    try:
        return Commitment(said)
    except ValueError as wrong:
        raise BadPost(_("Choose one of the two buttons: act on it, or stop and ask.")) from wrong


def read_move(post: QueryDict, order: Sequence[str], letters: Mapping[str, str]) -> tuple[list[str], str]:
    """The order after moving one step up or down, and its letter; at the end of the list it stays where it is.

    Raises ``BadPost`` for a step or a direction that is not on the page.
    """
    letter, _colon, direction = post.get("move", "").partition(":")
    by_letter = {letters[key]: key for key in order if key in letters}
    if letter not in by_letter or direction not in {"up", "down"}:
        raise BadPost(_("Say which step to move, up or down. Reload the page and try again."))
    moved, place = list(order), order.index(by_letter[letter])
    other = max(0, place - 1) if direction == "up" else min(len(moved) - 1, place + 1)
    moved[place], moved[other] = moved[other], moved[place]
    return moved, letter

"""What is missing for a start of work, in words, by people, kit and papers; each reads only what is theirs to read."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy

from training.board.labels import Voice
from training.core.permission.start_of_work import Group, Missing
from training.core.trade.reasons import Reason
from training.equipment.words import reason_words

GROUPS: Final[Mapping[Group, str | Promise]] = {
    Group.PEOPLE: gettext_lazy("People"),
    Group.KIT: gettext_lazy("Kit"),
    Group.PAPERS: gettext_lazy("Papers, bay and vehicle"),
}
_OF_A_KIND: Final = frozenset({"kind_missing", "second_kind_missing"})
STOP_WORDS: Final = gettext_lazy(
    "Hands off and back off; treat every part as live. Locks, label and cordon stay. What is open is covered by the "
    "maker's procedure only. Nobody works on before a new start of work says yes."
)
OWN_PAGE: Final = gettext_lazy("What is missing is on this person's own page; a manager sees it too.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """All that is missing about one subject; ``person`` is their key where it is about somebody."""

    subject: str
    sentences: tuple[str, ...]
    person: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupTold:
    """One group of the answer."""

    title: str | Promise
    subjects: tuple[Told, ...]


def told_in_groups(
    missing: Iterable[Missing], *, names: Mapping[str, str], titles: Mapping[str, str], open_to: Collection[str] | None
) -> list[GroupTold]:
    """What is missing, by group and subject. ``open_to`` are the people whose gaps the reader may see (None: all)."""
    found = list(missing)
    groups = []
    for group, title in GROUPS.items():
        subjects = list(dict.fromkeys(m.subject for m in found if m.group is group))
        told = tuple(
            _told([m for m in found if m.group is group and m.subject == subject], names, titles, open_to)
            for subject in subjects
        )
        if told:
            groups.append(GroupTold(title=title, subjects=told))
    return groups


def _told(
    found: list[Missing], names: Mapping[str, str], titles: Mapping[str, str], open_to: Collection[str] | None
) -> Told:
    subject, is_person = found[0].subject, found[0].group is Group.PEOPLE
    hidden = is_person and open_to is not None and subject not in open_to
    shown = [m for m in found if not (hidden and m.reason.code == "gap")]
    sentences = [_sentence(m.reason, titles) for m in shown]
    if len(shown) < len(found):
        sentences.append(str(OWN_PAGE))
    return Told(
        subject=_subject_words(found[0], names),
        sentences=tuple(sentences),
        person=subject if is_person else "",
    )


def _subject_words(missing: Missing, names: Mapping[str, str]) -> str:
    """A person by name, an item by its number; a kind that is missing is named by its sentence alone."""
    if missing.group is Group.PEOPLE:
        return names.get(missing.subject, "")
    return "" if missing.reason.code in _OF_A_KIND else missing.subject


def reasons_words(reasons: Iterable[Reason], voice: Voice) -> list[str]:
    """Reasons as sentences, with people by their names and job types by their titles."""
    return [reason_words(_named(reason, voice)) for reason in reasons]


def _named(reason: Reason, voice: Voice) -> Reason:
    lists = {"person": voice.names, "role": voice.job_types}
    values = tuple((name, lists.get(name, {}).get(value, value)) for name, value in reason.values)
    return Reason(reason.code, reason.text, reason.source, values)


def _sentence(reason: Reason, titles: Mapping[str, str]) -> str:
    """A reason in words, with a job type by its title."""
    values = tuple((name, titles.get(value, value) if name == "role" else value) for name, value in reason.values)
    return reason_words(Reason(reason.code, reason.text, reason.source, values))

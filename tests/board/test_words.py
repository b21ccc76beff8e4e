"""Decisions and gaps in words, without a database."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from training.board.gaps import first_way, gap_words, gaps_words, in_100, minutes_by_day_words, near_day_words
from training.board.labels import Voice, cell_words, colleague_words, supervisors_words, until_words
from training.board.stored import Cell
from training.board.words import GROUNDS, REMEDIES
from training.core.permission.decision import Decision, Ending, Gap, Ground, Mode, Remedy, RemedyKind
from training.people.models import Person

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
TODAY = date(2026, 3, 2)
VOICE = Voice(
    zone=ZoneInfo("Europe/Berlin"),
    now=NOW,
    names={"k1": "Ines K.", "k2": "Abel R.", "k3": "Zoe M."},
    tasks={"T1": "Check the gloves"},
    job_types={"A": "Wash and move"},
)


def remedy(**changed: Any) -> Remedy:
    plain: dict[str, Any] = {"kind": RemedyKind.DRILL, "minutes": 8, "earliest_on": TODAY}
    return Remedy(**(plain | changed))


def gap(ground: Ground = Ground.RECALL_TOPIC, subject: str = "isolation", **changed: Any) -> Gap:
    plain: dict[str, Any] = {"sentence": "Knows it.", "source": "rule book", "remedy": remedy()}
    return Gap(ground=ground, subject=subject, **(plain | changed))


def decision(mode: Mode, *gaps: Gap, ends: Ending | None = None, **changed: Any) -> Decision:
    plain: dict[str, Any] = {
        "job_type": "A", "at": NOW, "known_at": 1, "until": ends.at if ends else None, "ends_by": ends, "gaps": gaps,
        "proofs": (), "supervisors": (), "rule_book_version": 1, "parameter_set": 1, "head": 1,
    }  # fmt: skip
    return Decision(mode=mode, **(plain | changed))


def cell(said: Decision | None) -> Cell:
    return Cell(person=Person(), job_type="A", decision=said)


def ending(at: datetime, ground: Ground = Ground.RECALL_TOPIC, subject: str = "isolation", **day: Any) -> Ending:
    return Ending(at=at, because=ground, subject=subject, **day)


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        (ending(datetime(2026, 3, 14, 15, 20, tzinfo=UTC)), "until 14 Mar 16:20"),
        (ending(datetime(2026, 3, 14, 23, tzinfo=UTC), by_day=date(2026, 3, 14)), "through 14 Mar"),
        (ending(datetime(2026, 3, 31, 22, 30, tzinfo=UTC)), "until 1 Apr 00:30"),  # summer time at the workshop
        (ending(datetime(2026, 3, 14, 23, tzinfo=UTC)), "through 14 Mar"),  # the close of a day, whoever's it is
        (ending(datetime(2027, 1, 5, 23, tzinfo=UTC), by_day=date(2027, 1, 5)), "through 5 Jan 2027"),
    ],
)
def test_an_end_is_said_by_the_workshops_own_clock(ends: Ending, words: str) -> None:
    assert until_words(ends, VOICE) == words


def test_every_ground_and_every_remedy_has_its_words() -> None:
    for ground in Ground:
        words = gap_words(gap(ground, "A", facts=()), VOICE)
        assert words.title, ground
        assert "%(" not in words.title + words.now + words.way, ground
        assert GROUNDS[ground].ends % {"subject": "it"}, ground
    for kind in RemedyKind:
        assert REMEDIES[kind].short % {"subject": "it"}, kind
        assert REMEDIES[kind].full % {"subject": "it"}, kind


def test_minutes_are_said_by_day_and_many_days_are_summed() -> None:
    by_day = ((0, 4), (1, 4), (3, 4), (10, 2), (20, 2))
    said = minutes_by_day_words(remedy(minutes_by_day=by_day), VOICE, TODAY)
    assert said == "4 min today, 4 min tomorrow, 4 min Thu, 4 min more by 22 Mar"


def test_minutes_worked_out_yesterday_are_counted_from_yesterday() -> None:
    """A stored decision is a few hours old: what was "tomorrow" at 20:00 is "today" at 07:00."""
    planned = remedy(minutes_by_day=((0, 4), (1, 5), (2, 6)))
    said = minutes_by_day_words(planned, VOICE, TODAY - timedelta(days=1))
    assert said == "4 min today, 5 min today, 6 min tomorrow"
    stored = decision(Mode.NOT_CLEARED, gap(remedy=planned), at=NOW - timedelta(days=1))
    assert said in gaps_words(stored, VOICE)[0].way
    assert said in first_way(stored, VOICE)


def test_of_a_past_moment_each_day_is_said_by_its_date() -> None:
    """Whoever reads it a week later would take "today" for their own."""
    planned = remedy(minutes_by_day=((0, 4), (1, 5), (3, 6)))
    later = replace(VOICE, read_on=TODAY + timedelta(days=7))
    assert minutes_by_day_words(planned, later, TODAY) == "4 min on 2 Mar, 5 min on 3 Mar, 6 min on 5 Mar"
    next_year = replace(VOICE, read_on=TODAY + timedelta(days=365))
    assert near_day_words(TODAY, next_year) == "on 2 Mar 2026"
    assert near_day_words(TODAY, replace(VOICE, read_on=TODAY)) == "today"


def test_a_day_within_the_week_is_its_weekday_and_later_its_date() -> None:
    assert [near_day_words(TODAY + timedelta(days=days), VOICE) for days in (6, 7)] == ["Sun", "9 Mar"]


@pytest.mark.parametrize(("figure", "words"), [("0.599", "59"), ("0.600", "60"), ("0.290", "29"), ("1.000", "100")])
def test_recall_low_is_said_in_100_and_rounded_down(figure: str, words: str) -> None:
    assert in_100(figure) == words


def test_figures_that_are_not_there_are_left_out() -> None:
    assert gap_words(gap(Ground.RECALL_TOPIC, facts=(("recall_low", "?"),)), VOICE).now == ""


def test_where_recall_stands_is_said_against_what_is_asked() -> None:
    facts = (("recall_low", "0.312"), ("asked", "0.400"), ("unanswered", 2))
    assert gap_words(gap(facts=facts), VOICE).now == (
        "On average at least 31 in 100, asks for 40. 2 more questions to answer."
    )


def test_a_gap_of_a_job_type_that_has_to_be_held_says_so() -> None:
    assert gap_words(gap(Ground.SIGN_OFF, "T1", through="A"), VOICE).title == (
        "Sign-off: Check the gloves (for Wash and move)"
    )


def test_an_observation_names_who_can_watch_or_says_that_nobody_may() -> None:
    watched = remedy(kind=RemedyKind.OBSERVATION, minutes=30, who=("k1", "k2"))
    assert gap_words(gap(Ground.SIGN_OFF, "T1", remedy=watched), VOICE).way.endswith("Ask Abel R., Ines K.")
    nobody = remedy(kind=RemedyKind.OBSERVATION, minutes=30, earliest_on=None)
    assert "a manager appoints a mentor" in gap_words(gap(Ground.SIGN_OFF, "T1", remedy=nobody), VOICE).way


def test_an_observation_from_outside_marks_who_comes_from_outside_and_names_the_exception() -> None:
    facts = (("observations", 2), ("small_shop", 41), ("outside", 1))
    watched = remedy(kind=RemedyKind.OBSERVATION, minutes=30, who=("k1", "k2"))
    said = gap_words(gap(Ground.SIGN_OFF, "T1", remedy=watched, facts=facts), replace(VOICE, outside=frozenset({"k1"})))
    assert said.way.endswith("Ask Abel R., Ines K. (from outside)")
    assert said.now == (
        "2 passed observations to go. One of them by a mentor from outside. By the small-shop exception of record 41."
    )
    nobody = remedy(kind=RemedyKind.OBSERVATION, minutes=30, earliest_on=None)
    said = gap_words(gap(Ground.SIGN_OFF, "T1", remedy=nobody, facts=facts), VOICE)
    assert said.way.endswith("a manager appoints a mentor from outside.")


def test_the_shortest_remedy_is_the_one_that_can_be_done_soonest_then_in_least_time() -> None:
    later = gap(Ground.SIGN_OFF, "T1", remedy=remedy(kind=RemedyKind.OBSERVATION, earliest_on=date(2026, 3, 9)))
    long = gap(Ground.INSTRUCTION, "instruction", remedy=remedy(kind=RemedyKind.INSTRUCTION, minutes=30))
    short = gap(Ground.APPOINTMENT, "A", remedy=remedy(kind=RemedyKind.SIGNATURE, minutes=2))
    open_end = gap(Ground.CERTIFICATE, "medical", remedy=remedy(kind=RemedyKind.CERTIFICATE, earliest_on=None))
    assert first_way(decision(Mode.NOT_CLEARED, open_end, later, long, short), VOICE) == "a manager's signature"
    assert first_way(decision(Mode.ALONE), VOICE) == ""


def test_more_than_two_supervisors_are_two_names_and_a_number() -> None:
    many = decision(Mode.SUPERVISED, supervisors=("k1", "k2", "k3"))
    assert supervisors_words(many, VOICE) == "Abel R., Ines K., Zoe M."
    assert supervisors_words(many, VOICE, most=2) == "Abel R., Ines K. and 1 more"


def test_a_clearance_without_an_end_is_never_shown_as_one() -> None:
    endless = cell(decision(Mode.ALONE))
    assert cell_words(endless, VOICE).headline == "being worked out"
    assert colleague_words(endless, VOICE).headline == "not now"


@pytest.mark.parametrize("ground", list(Ground))
def test_a_colleague_reads_the_same_whatever_is_missing(ground: Ground) -> None:
    words = colleague_words(cell(decision(Mode.NOT_CLEARED, gap(ground, "A"))), VOICE)
    assert words == colleague_words(cell(None), VOICE)
    assert (words.headline, words.details) == ("not now", ())

"""An unsafe answer closes by a talk-through and a right answer on another day, in either order, and may open anew."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import permutations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.permission.builders import AT
from training.core.permission.unsafe import GivenAnswer, TalkThrough, close_unsafe
from training.core.questions.kinds import Consequence, Topic

T0 = AT


def hours(n: float) -> datetime:
    return T0 + timedelta(hours=n)


def given_answer(at_hours: float, result: str, *, question: str = "q", record: int | None = None) -> GivenAnswer:
    """``result``: right, held back, unsafe, or one of these with "fast " before it."""
    kind = result.removeprefix("fast ")
    return GivenAnswer(
        record=int(at_hours * 10) if record is None else record,
        question=question,
        topic=Topic.RESCUE,
        consequence=Consequence.LIFE,
        happened_at=hours(at_hours),
        right=kind == "right",
        unsafe=kind == "unsafe",
        too_fast=result.startswith("fast "),
    )


def talk(at_hours: float, question: str = "q") -> TalkThrough:
    return TalkThrough(record=int(at_hours * 10) + 1, question=question, happened_at=hours(at_hours))


def closings(*events: Any) -> list[float | None]:
    """In hours, when each opening closed; None where it is open."""
    answers = [e for e in events if isinstance(e, GivenAnswer)]
    talks = [e for e in events if isinstance(e, TalkThrough)]
    found = close_unsafe(answers, talks)
    return [None if o.closed_at is None else (o.closed_at - T0).total_seconds() / 3600 for o in found]


UNSAFE = given_answer(0, "unsafe")


def test_only_an_unsafe_answer_opens() -> None:
    assert closings(given_answer(0, "right"), given_answer(24, "held back")) == []
    (opened,) = close_unsafe([UNSAFE], [])
    assert (opened.record, opened.question, opened.topic, opened.consequence) == (
        0,
        "q",
        Topic.RESCUE,
        Consequence.LIFE,
    )
    assert (opened.talked_through, opened.right_since, opened.closed_at) == (False, False, None)


@pytest.mark.parametrize(
    ("talked", "right", "closed"),
    [
        pytest.param(2, 24, 24, id="talked through, then right"),
        pytest.param(30, 24, 30, id="right, then talked through"),
        pytest.param(2, 12, None, id="right after exactly half a day"),
        pytest.param(2, 12.1, 12.1, id="right after more than half a day"),
        pytest.param(0, 24, None, id="talked through at the same instant"),
        pytest.param(-1, 24, None, id="talked through before"),
    ],
)
def test_it_closes_when_both_exist(talked: float, right: float, closed: float | None) -> None:
    assert closings(UNSAFE, talk(talked), given_answer(right, "right")) == [closed]


def test_one_of_the_two_is_not_enough_and_is_told() -> None:
    assert closings(UNSAFE, talk(2)) == [None]
    assert closings(UNSAFE, given_answer(24, "right")) == [None]
    (half,) = close_unsafe([UNSAFE], [talk(2)])
    assert (half.talked_through, half.right_since) == (True, False)


def test_a_right_answer_too_fast_to_have_been_read_closes_nothing() -> None:
    assert closings(UNSAFE, talk(2), given_answer(24, "fast right")) == [None]


def test_an_unsafe_answer_too_fast_to_have_been_read_still_opens() -> None:
    assert closings(given_answer(0, "fast unsafe")) == [None]


def test_another_question_closes_nothing() -> None:
    assert closings(UNSAFE, talk(2, "other"), given_answer(24, "right")) == [None]
    assert closings(UNSAFE, talk(2), given_answer(24, "right", question="other")) == [None]


def test_wrong_again_while_open_opens_anew_and_both_have_to_close() -> None:
    assert closings(UNSAFE, talk(2), given_answer(24, "held back"), given_answer(30, "right")) == [30, None]
    assert closings(UNSAFE, talk(2), given_answer(24, "unsafe"), given_answer(48, "right"), talk(50)) == [48, 50]


def test_wrong_about_a_week_later_opens_anew_even_if_held_back() -> None:
    closed = (UNSAFE, talk(2), given_answer(24, "right"))
    assert closings(*closed, given_answer(192, "held back")) == [24, None]


def test_right_about_a_week_later_ends_the_watch() -> None:
    closed = (UNSAFE, talk(2), given_answer(24, "right"))
    assert closings(*closed, given_answer(192, "right"), given_answer(240, "held back")) == [24]
    assert closings(*closed, given_answer(192, "right"), given_answer(240, "unsafe")) == [24, None]
    early = given_answer(100, "right")  # not a week yet: the watch goes on
    assert closings(*closed, early, given_answer(240, "held back")) == [24, None]


EVENTS = st.builds(
    lambda hour, what, name: talk(hour, name) if what == "talk" else given_answer(hour, what, question=name),
    st.integers(0, 400),
    st.sampled_from(["talk", "right", "held back", "unsafe", "fast right", "fast unsafe"]),
    st.sampled_from(["q", "r"]),
)


def open_questions(events: list[Any]) -> set[str]:
    answers = [e for e in events if isinstance(e, GivenAnswer)]
    talks = [e for e in events if isinstance(e, TalkThrough)]
    return {o.question for o in close_unsafe(answers, talks) if o.closed_at is None}


@given(st.lists(EVENTS, max_size=12), st.data())
def test_the_order_of_arrival_changes_nothing(events: list[Any], data: st.DataObject) -> None:
    shuffled = data.draw(st.permutations(events))
    assert closings(*events) == closings(*shuffled)


def test_all_720_orders_of_six_events_give_the_same() -> None:
    events = [
        UNSAFE,
        talk(2),
        given_answer(24, "right"),
        given_answer(30, "unsafe"),
        talk(31),
        given_answer(60, "right"),
    ]
    assert {tuple(closings(*order)) for order in permutations(events)} == {(24, 60)}


@given(st.lists(EVENTS, max_size=12))
def test_duplicates_change_nothing(events: list[Any]) -> None:
    assert closings(*events, *events) == closings(*events)


@given(st.lists(EVENTS, max_size=12), st.sampled_from(["held back", "unsafe", "fast unsafe"]))
def test_a_further_wrong_answer_never_closes(events: list[Any], result: str) -> None:
    further = given_answer(401, result, record=9999)
    assert open_questions(events) <= open_questions([*events, further])


@given(st.lists(EVENTS, max_size=12), st.data())
def test_taking_away_a_talk_through_never_closes(events: list[Any], data: st.DataObject) -> None:
    talks = [e for e in events if isinstance(e, TalkThrough)]
    if talks:
        gone = data.draw(st.sampled_from(talks))
        assert open_questions(events) <= open_questions([e for e in events if e != gone])


@given(st.lists(EVENTS, max_size=12))
def test_taking_away_the_newest_right_answer_never_closes(events: list[Any]) -> None:
    newest = max(events, key=lambda e: (e.happened_at, e.record), default=None)
    if isinstance(newest, GivenAnswer) and newest.right:
        assert open_questions(events) <= open_questions([e for e in events if e != newest])

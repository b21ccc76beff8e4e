"""The drill's pages through the client: every kind, with and without htmx, and every post that cannot be read."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.factories.bank import QuestionVersionFactory, WorkedOutVersionFactory, pick_one, ready_workshop
from tests.factories.drill import DrillFactory, TurnFactory, answered_turn, response_to
from tests.factories.people import PersonFactory
from training.bank.queries import question_of
from training.core.questions.kinds import Consequence, Kind
from training.core.questions.marking import shown_order
from training.drill.forms import letters_of
from training.drill.models import Drill, Turn
from training.drill.pages import kept_together
from training.people.models import Person
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]
HTMX = {"HX-Request": "true"}


@pytest.fixture
def person() -> Person:
    return PersonFactory()


@pytest.fixture
def client(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


@pytest.fixture
def open_turn(person: Person) -> Callable[..., Turn]:
    """Makes a drill of one question of a kind, and a second of the same kind behind it; returns the first turn."""

    def make(kind: Kind = Kind.PICK_ONE, **changes: Any) -> Turn:
        drill = DrillFactory(person=person, opened_at=timezone.now())
        for position in (1, 2):
            version = QuestionVersionFactory(question__group=person.group, kind=kind, **changes)
            TurnFactory(drill=drill, position=position, version=version)
        return drill.turns.get(position=1)

    return make


def page_of(turn: Turn, name: str) -> str:
    if name in {"drill", "closed"}:
        return reverse(f"drill:{name}", args=[turn.drill_id])
    return reverse(f"drill:{name}", args=[turn.drill_id, turn.position])


def read_slowly(client: Client, turn: Turn) -> str:
    """Fetch the open question, and let half a minute go by."""
    text = client.get(page_of(turn, "drill")).content.decode()
    shown_at = timezone.now() - timedelta(seconds=30)
    Turn.objects.filter(pk=turn.pk).update(shown_at=shown_at)
    return text


def choice_for(turn: Turn, *, right: bool = True) -> list[str]:
    """What the page would post for this answer."""
    question = question_of(turn.version, turn.seed)
    response = response_to(question, right=right)
    letters = letters_of(question, turn.seed)
    return [letters.get(key, key) for key in response]


# ------------------------------------------------------------------------------------------------ starting
def test_starting_opens_a_drill_and_shows_its_first_question(person: Person, client: Client) -> None:
    ready_workshop(person.workshop)
    answer = client.post(reverse("drill:start"), {"minutes": "5"})
    drill = Drill.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, reverse("drill:drill", args=[drill.pk]))
    again = client.post(reverse("drill:start"))
    assert again["Location"] == answer["Location"]


def test_nothing_to_ask_is_said_in_a_sentence(client: Client) -> None:
    answer = client.post(reverse("drill:start"))
    assert answer.status_code == 200
    assert "There is nothing to drill yet" in answer.content.decode()


@pytest.mark.parametrize("minutes", ["", "0", "31", "many", "-5", "5.5", "٥", "9" * 5000])
def test_minutes_that_cannot_be_read_are_a_400(client: Client, minutes: str) -> None:
    answer = client.post(reverse("drill:start"), {"minutes": minutes})
    assert answer.status_code == 400
    assert "Give the minutes as a whole number" in answer.content.decode()


# ------------------------------------------------------------------------------------------------ the question
def test_a_question_says_where_it_stands_what_it_costs_and_the_caution(
    client: Client, open_turn: Callable[..., Turn], person: Person
) -> None:
    text = read_slowly(client, open_turn())
    assert f">{person.tally}</span>" in text
    for sentence in (
        "Question 1 of about 2, 2 min left",
        "Work area. A wrong act here can cost a life.",
        "A lid is open.",
        "What comes next?",
        "Training aid.",
    ):
        assert sentence in text


@pytest.mark.parametrize(
    ("consequence", "cost"),
    [(Consequence.INJURY, "can injure somebody"), (Consequence.DAMAGE, "can damage the vehicle")],
)
def test_a_milder_question_says_what_it_costs(
    client: Client, open_turn: Callable[..., Turn], consequence: Consequence, cost: str
) -> None:
    assert cost in read_slowly(client, open_turn(content=pick_one("x", consequence=consequence.value)))


@pytest.mark.parametrize(
    ("kind", "control"),
    [
        (Kind.PICK_ONE, 'type="radio" name="choice"'),
        (Kind.PICK_ALL, 'type="checkbox" name="choice"'),
        (Kind.PUT_IN_ORDER, 'name="move" value="a:up"'),
        (Kind.WORK_OUT, 'inputmode="decimal"'),
    ],
)
def test_each_kind_has_its_control_and_two_equal_buttons(
    client: Client, open_turn: Callable[..., Turn], kind: Kind, control: str
) -> None:
    text = read_slowly(client, open_turn(kind))
    assert control in text
    assert 'name="commitment" value="act"' in text
    assert 'name="commitment" value="ask"' in text


@pytest.mark.parametrize("kind", list(Kind))
def test_nothing_before_the_answer_tells_right_from_wrong(
    client: Client, open_turn: Callable[..., Turn], kind: Kind
) -> None:
    turn = open_turn(kind)
    question = question_of(turn.version, turn.seed)
    text = read_slowly(client, turn)
    reasons = [option.reason for option in question.options]
    assert [reason for reason in [*reasons, *question.sources, "12.5", "Half of"] if reason in text] == []
    if kind is not Kind.WORK_OUT:
        assert re.findall(r'name="choice" value="(.)"', text) == sorted(letters_of(question, turn.seed).values())


def test_a_letter_on_the_page_says_nothing_about_the_place_of_a_step() -> None:
    version = QuestionVersionFactory(kind=Kind.PUT_IN_ORDER)
    question = question_of(version, 1)
    first_letters = {letters_of(question, seed)["a"] for seed in range(60)}
    assert first_letters == {"a", "b", "c", "d"}
    assert all(shown_order(question, seed) != ("a", "b", "c", "d") for seed in range(60))


def test_the_first_button_of_the_form_is_disabled_so_that_enter_commits_to_nothing(
    client: Client, open_turn: Callable[..., Turn]
) -> None:
    form = read_slowly(client, open_turn(Kind.WORK_OUT)).partition('<form id="answer"')[2]
    assert form.index('<button class="unseen" disabled') < form.index('<input type="text"')


def test_a_picture_comes_with_the_same_in_words(person: Person, client: Client) -> None:
    version = WorkedOutVersionFactory(question__group=person.group, worked_out="cordon_verdict")
    turn = TurnFactory(drill=DrillFactory(person=person, opened_at=timezone.now()), version=version)
    text = read_slowly(client, turn)
    question = question_of(version, turn.seed)
    assert "<svg" in text
    assert 'role="img" aria-label="' in text
    assert (question.picture_text or "").split(".")[0][:20] in text


def test_words_of_a_question_are_escaped(client: Client, open_turn: Callable[..., Turn]) -> None:
    text = read_slowly(client, open_turn(content=pick_one("x", situation="<script>alert(1)</script>")))
    assert "<script>alert(1)" not in text
    assert "&lt;script&gt;alert(1)" in text


def test_htmx_is_given_the_part_and_a_browser_the_page(client: Client, open_turn: Callable[..., Turn]) -> None:
    turn = open_turn()
    part = client.get(page_of(turn, "drill"), headers=HTMX).content.decode()
    page = client.get(page_of(turn, "drill")).content.decode()
    assert part.lstrip().startswith('<section id="question"')
    assert "<html" in page
    assert '<section id="question"' in page


# ------------------------------------------------------------------------------------------------ answering
@pytest.mark.parametrize("headers", [{}, HTMX])
@pytest.mark.parametrize("kind", list(Kind))
def test_each_kind_is_answered_and_comes_to_its_outcome_page(
    client: Client, open_turn: Callable[..., Turn], kind: Kind, headers: dict[str, str]
) -> None:
    turn = open_turn(kind)
    read_slowly(client, turn)
    post = {"choice": choice_for(turn), "commitment": "act"}
    answer = client.post(page_of(turn, "answer"), post, headers=headers)
    target = answer.headers.get("HX-Location", answer.headers.get("Location", ""))
    assert page_of(turn, "outcome") in target
    assert answer.status_code == (200 if headers else 302)
    text = client.get(page_of(turn, "outcome"), headers=headers).content.decode()
    for sentence in ("Sound", "Right, and you would have acted.", "common practice, no source", "Training aid."):
        assert sentence in text
    for option in question_of(turn.version, turn.seed).options:
        assert option.reason in text


@pytest.mark.parametrize(
    ("right", "commitment", "word", "sentence"),
    [
        (True, "act", "Sound", "Right, and you would have acted."),
        (True, "ask", "Careful", "Right, and you would have asked first."),
        (False, "ask", "Held back", "You would have stopped"),
        (False, "act", "Unsafe", "until a mentor has talked it through with you"),
    ],
)
def test_the_outcome_is_said_in_one_word_and_only_unsafe_is_red(
    client: Client, open_turn: Callable[..., Turn], right: bool, commitment: str, word: str, sentence: str
) -> None:
    turn = open_turn()
    read_slowly(client, turn)
    client.post(page_of(turn, "answer"), {"choice": choice_for(turn, right=right), "commitment": commitment})
    text = client.get(page_of(turn, "outcome")).content.decode()
    heading = re.search(r'<h1 class="([^"]*)">([^<]*)</h1>', text)
    assert heading
    assert heading.group(2) == word
    assert ("stop" in heading.group(1)) == (word == "Unsafe")
    assert sentence in text
    assert "Next question" in text
    assert ("You chose:" in text) == (not right)


def test_an_unsafe_answer_of_lesser_consequence_keeps_from_no_job(
    client: Client, open_turn: Callable[..., Turn]
) -> None:
    turn = open_turn(content=pick_one("x", consequence="damage"))
    read_slowly(client, turn)
    client.post(page_of(turn, "answer"), {"choice": choice_for(turn, right=False), "commitment": "act"})
    text = client.get(page_of(turn, "outcome")).content.decode()
    assert "comes back tomorrow" in text
    assert "It keeps you from no job." in text
    assert "wait until then" not in text


def test_an_answer_faster_than_reading_is_said_to_count_for_nothing(
    client: Client, open_turn: Callable[..., Turn]
) -> None:
    turn = open_turn()
    client.get(page_of(turn, "drill"))
    client.post(page_of(turn, "answer"), {"choice": choice_for(turn), "commitment": "act"})
    assert "counts for nothing" in client.get(page_of(turn, "outcome")).content.decode()


def test_a_double_tap_records_once_and_shows_the_same_outcome(client: Client, open_turn: Callable[..., Turn]) -> None:
    turn = open_turn()
    read_slowly(client, turn)
    first = client.post(page_of(turn, "answer"), {"choice": choice_for(turn), "commitment": "act"})
    second = client.post(page_of(turn, "answer"), {"choice": choice_for(turn, right=False), "commitment": "act"})
    third = client.post(page_of(turn, "answer"))
    assert first["Location"] == second["Location"] == third["Location"] == page_of(turn, "outcome")
    assert Record.objects.count() == 1
    assert "Sound" in client.get(page_of(turn, "outcome")).content.decode()


@pytest.mark.parametrize(
    ("kind", "post", "sentence"),
    [
        (Kind.PICK_ONE, {"choice": "a"}, "act on it, or stop and ask"),
        (Kind.PICK_ONE, {"commitment": "act"}, "Choose an answer first."),
        (Kind.PICK_ONE, {"choice": ["a", "b"], "commitment": "act"}, "Choose one answer."),
        (Kind.PICK_ALL, {"commitment": "ask"}, "Choose an answer first."),
        (Kind.PICK_ALL, {"choice": ["a", "a"], "commitment": "ask"}, "each at most once"),
        (Kind.PUT_IN_ORDER, {"choice": ["a", "b"], "commitment": "act"}, "Give every step its place."),
        (Kind.WORK_OUT, {"commitment": "act"}, "Type a number"),
        (Kind.WORK_OUT, {"choice": "twelve", "commitment": "act"}, "Type only the number"),
        (Kind.WORK_OUT, {"choice": "1,234", "commitment": "act"}, "can be read in two ways"),
        (Kind.WORK_OUT, {"choice": "9" * 400, "commitment": "act"}, "Type only the number"),
    ],
)
def test_an_answer_that_cannot_be_read_is_asked_again_with_a_sentence(
    client: Client, open_turn: Callable[..., Turn], kind: Kind, post: dict[str, Any], sentence: str
) -> None:
    turn = open_turn(kind)
    read_slowly(client, turn)
    answer = client.post(page_of(turn, "answer"), post)
    assert answer.status_code == 400
    assert sentence in answer.content.decode()
    assert '<form id="answer"' in answer.content.decode()
    assert not Record.objects.exists()


def test_what_was_ticked_or_typed_is_still_there_when_asked_again(
    client: Client, open_turn: Callable[..., Turn]
) -> None:
    turn = open_turn(Kind.PICK_ALL)
    read_slowly(client, turn)
    text = client.post(page_of(turn, "answer"), {"choice": ["a", "c"]}).content.decode()
    assert re.findall(r'value="(.)" checked', text) == ["a", "c"]


@pytest.mark.parametrize("post", [{"choice": "z", "commitment": "act"}, {"choice": "a", "commitment": "maybe"}])
def test_a_word_that_the_page_does_not_offer_is_a_400(
    client: Client, open_turn: Callable[..., Turn], post: dict[str, str]
) -> None:
    turn = open_turn()
    read_slowly(client, turn)
    answer = client.post(page_of(turn, "answer"), post)
    assert answer.status_code == 400
    assert "Nothing was recorded" in answer.content.decode() or "two buttons" in answer.content.decode()
    assert not Record.objects.exists()


def test_a_question_out_of_turn_is_a_400(client: Client, open_turn: Callable[..., Turn]) -> None:
    second = open_turn().drill.turns.get(position=2)
    answer = client.post(page_of(second, "answer"), {"choice": "a", "commitment": "act"})
    assert answer.status_code == 400
    assert "not open now" in answer.content.decode()
    assert client.get(page_of(second, "outcome"))["Location"] == page_of(second, "drill")


# ------------------------------------------------------------------------------------------------ moving steps
def test_a_step_moves_and_stays_there_without_script(client: Client, open_turn: Callable[..., Turn]) -> None:
    turn = open_turn(Kind.PUT_IN_ORDER)
    read_slowly(client, turn)
    answer = client.post(page_of(turn, "order"), {"move": "c:up"})
    assert answer["Location"] == page_of(turn, "drill") + "#step-c"
    assert _letters_shown(client.get(page_of(turn, "drill")).content.decode()) == ["a", "c", "b", "d"]


def test_a_step_moves_in_place_with_htmx(client: Client, open_turn: Callable[..., Turn]) -> None:
    turn = open_turn(Kind.PUT_IN_ORDER)
    read_slowly(client, turn)
    part = client.post(page_of(turn, "order"), {"move": "a:down"}, headers=HTMX).content.decode()
    assert part.lstrip().startswith('<ol id="steps"')
    assert _letters_shown(part) == ["b", "a", "c", "d"]
    assert "Move up, now 2 of 4: " in part


def test_at_either_end_a_step_stays_where_it_is(client: Client, open_turn: Callable[..., Turn]) -> None:
    turn = open_turn(Kind.PUT_IN_ORDER)
    read_slowly(client, turn)
    for move in ("a:up", "d:down"):
        part = client.post(page_of(turn, "order"), {"move": move}, headers=HTMX).content.decode()
        assert _letters_shown(part) == ["a", "b", "c", "d"]


def test_what_the_page_shows_is_what_is_committed_to(client: Client, open_turn: Callable[..., Turn]) -> None:
    """A page left open in another tab must not answer with an order that its reader never saw."""
    turn = open_turn(Kind.PUT_IN_ORDER)
    read_slowly(client, turn)
    client.post(page_of(turn, "order"), {"move": "a:down"})
    client.post(page_of(turn, "answer"), {"choice": ["a", "b", "c", "d"], "commitment": "ask"})
    turn.refresh_from_db()
    question = question_of(turn.version, turn.seed)
    assert tuple(turn.response) == shown_order(question, turn.seed)


@pytest.mark.parametrize("move", ["", "a", "z:up", "a:left", "a:up:down", ":up"])
def test_a_move_that_is_not_on_the_page_is_a_400(client: Client, open_turn: Callable[..., Turn], move: str) -> None:
    turn = open_turn(Kind.PUT_IN_ORDER)
    read_slowly(client, turn)
    answer = client.post(page_of(turn, "order"), {"move": move})
    assert answer.status_code == 400
    assert "Say which step to move" in answer.content.decode()


def test_other_kinds_have_no_steps_to_move(client: Client, open_turn: Callable[..., Turn]) -> None:
    assert client.post(page_of(open_turn(), "order"), {"move": "a:up"}).status_code == 400


def _letters_shown(text: str) -> list[str]:
    return re.findall(r'<li id="step-(.)">', text)


# ------------------------------------------------------------------------------------------------ leaving and ending
def test_coming_back_shows_the_first_question_that_is_still_open(
    client: Client, open_turn: Callable[..., Turn]
) -> None:
    turn = open_turn()
    read_slowly(client, turn)
    client.post(page_of(turn, "answer"), {"choice": choice_for(turn), "commitment": "act"})
    assert "Question 2 of about 2" in client.get(page_of(turn, "drill")).content.decode()
    assert client.get(page_of(turn, "closed"))["Location"] == page_of(turn, "drill")


def test_after_the_last_answer_the_end_says_what_comes_back(client: Client, open_turn: Callable[..., Turn]) -> None:
    turn = open_turn()
    for each, right in zip(turn.drill.turns.all(), (True, False), strict=True):
        read_slowly(client, each)
        client.post(page_of(each, "answer"), {"choice": choice_for(each, right=right), "commitment": "act"})
    assert "End of the drill" in client.get(page_of(each, "outcome")).content.decode()
    assert client.get(page_of(turn, "drill"))["Location"] == page_of(turn, "closed")
    text = client.get(page_of(turn, "closed")).content.decode()
    for sentence in ("2 questions answered", "What comes back", "Unsafe. It comes back tomorrow.", 'href="/"'):
        assert sentence in text


def test_when_the_minutes_are_up_the_end_says_that_the_rest_comes_another_day(
    client: Client, open_turn: Callable[..., Turn]
) -> None:
    turn = open_turn()
    Drill.objects.update(minutes=1)
    Turn.objects.filter(pk=turn.pk).update(shown_at=timezone.now() - timedelta(seconds=50))
    client.post(page_of(turn, "answer"), {"choice": choice_for(turn), "commitment": "act"})
    text = client.get(page_of(turn, "closed")).content.decode()
    assert "1 question answered" in text
    assert "Time is up. What was not asked comes another day." in text


def test_a_drill_closed_by_a_later_one_says_what_was_left(client: Client, open_turn: Callable[..., Turn]) -> None:
    turn = open_turn()
    Drill.objects.update(closed_at=timezone.now())
    text = client.get(page_of(turn, "closed")).content.decode()
    assert "No question answered" in text
    assert "2 questions were left" in text
    assert client.post(page_of(turn, "answer"), {"choice": "a", "commitment": "act"}).status_code == 400


def test_a_question_that_can_no_longer_be_shown_ends_the_drill_with_a_sentence(
    client: Client, open_turn: Callable[..., Turn]
) -> None:
    turn = open_turn()
    turn.version.content = {}
    turn.version.save()
    answer = client.get(page_of(turn, "drill"), follow=True)
    assert "cannot be shown any more" in answer.content.decode()
    assert client.post(page_of(turn, "answer"), {"choice": "a", "commitment": "act"}).status_code == 400


def test_an_outcome_whose_question_is_gone_is_still_on_record(person: Person, client: Client) -> None:
    turn = answered_turn(person, QuestionVersionFactory(question__group=person.group))
    turn.version.content = {}
    turn.version.save()
    assert "on record" in client.get(page_of(turn, "outcome"), follow=True).content.decode()


def test_an_outcome_looked_at_again_after_a_later_answer_promises_no_day(person: Person, client: Client) -> None:
    version = QuestionVersionFactory(question__group=person.group)
    first = answered_turn(person, version, timezone.now() - timedelta(days=9))
    assert "It comes back" in client.get(page_of(first, "outcome")).content.decode()
    answered_turn(person, version, timezone.now())
    assert "It comes back" not in client.get(page_of(first, "outcome")).content.decode()


# ------------------------------------------------------------------------------------------------ who and how
@pytest.mark.parametrize("name", ["drill", "closed", "outcome", "answer", "order"])
def test_somebody_elses_drill_is_not_there(open_turn: Callable[..., Turn], name: str, person: Person) -> None:
    turn = open_turn()
    stranger = Client()
    stranger.force_login(PersonFactory(workshop=person.workshop))
    method = stranger.post if name in {"answer", "order"} else stranger.get
    assert method(page_of(turn, name)).status_code == 404


@pytest.mark.parametrize("name", ["drill", "closed", "outcome", "answer", "order"])
def test_nobody_who_is_not_signed_in_comes_in(open_turn: Callable[..., Turn], name: str) -> None:
    assert Client().get(page_of(open_turn(), name)).status_code == 302


def test_a_turn_that_is_not_in_the_drill_is_not_there(client: Client, open_turn: Callable[..., Turn]) -> None:
    turn = open_turn()
    assert client.get(reverse("drill:outcome", args=[turn.drill_id, 9])).status_code == 404
    assert client.get(reverse("drill:drill", args=[turn.drill_id + 1000])).status_code == 404


def test_each_page_takes_only_its_own_method(client: Client, open_turn: Callable[..., Turn]) -> None:
    turn = open_turn()
    assert client.get(reverse("drill:start")).status_code == 405
    for name in ("answer", "order"):
        assert client.get(page_of(turn, name)).status_code == 405
    for name in ("drill", "closed", "outcome"):
        assert client.post(page_of(turn, name)).status_code == 405


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("charged to 1 500 µF at 400 V for 30 s", "charged to 1\u00a0500\u00a0µF at 400\u00a0V for 30\u00a0s"),
        ("wait 5 min by 2 people on 3 March 2026", "wait 5\u00a0min by 2 people on 3 March 2026"),
        ("20 kohm, 2 mm, 12 sets, 7 Very", "20\u00a0kohm, 2\u00a0mm, 12 sets, 7 Very"),
    ],
)
def test_a_figure_is_never_parted_from_its_unit_or_its_thousands(text: str, kept: str) -> None:
    assert kept_together(text) == kept

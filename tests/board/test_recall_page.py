"""One's own recall in curves, the topics for managers, and who sees which."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime, timedelta
from html import unescape

import pytest
from django.urls import reverse

from tests.board.house import NOW, House, answer, signed_in, talk
from training.board.recall.drawing import curve_of
from training.core.permission.outlook import LOOKED_AT_DAYS, Point
from training.drill.picking import job_types_sought
from training.people.models import Person
from training.records.models import Chain

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]
SetClock = Callable[[datetime], None]
ISOLATION_LIFE = 2  # the third question of the house


def my_recall(person: Person) -> str:
    answered = signed_in(person).get(reverse("board:recall"))
    assert answered.status_code == 200
    return unescape(answered.content.decode()).replace("\u00a0", " ")


def topics_of(house: House, person: Person, viewer: Person) -> tuple[int, str]:
    answered = signed_in(viewer).get(reverse("board:topics", args=[house.workshop.slug, person.pk]))
    return answered.status_code, unescape(answered.content.decode()).replace("\u00a0", " ")


def unsafe_isolation(house: House, person: Person, at: datetime = NOW - timedelta(hours=2)) -> int:
    return answer(house, person, house.questions[ISOLATION_LIFE], at=at, right=False).number


# ------------------------------------------------------------------------------------------------------- one's own
def test_each_topic_has_a_curve_with_its_text_and_the_same_figures_in_a_table(house: House) -> None:
    page = my_recall(house.tina)
    assert page.count("<svg role=") == 2
    assert "Recall of isolation without drill: today at least 93 in 100, likely 97; in 90 days at least 27" in page
    table = page[page.index("isolation without drill: today") :]
    rows = re.findall(r'<th scope="row">([^<]+)</th><td>(\d+)</td><td>(\d+)</td><td>(\d+)</td>', table)
    assert rows[0] == ("today", "93", "97", "93")
    assert rows[len(LOOKED_AT_DAYS) - 1] == ("31 May", "27", "77", "27")
    assert len(rows) == 2 * len(LOOKED_AT_DAYS)


def test_what_each_lapse_costs_and_what_keeps_it_is_said_soonest_first(house: House) -> None:
    page = my_recall(house.tina)
    isolation = "On 25 Mar isolation falls below what B asks; 1 min of drill before that keeps it."
    rescue = "On 26 Mar rescue falls below what A and B ask; 1 min of drill before that keeps it."
    assert page.index(isolation) < page.index(rescue)


def test_floors_stand_in_the_curve_by_the_job_types_that_ask_for_them(house: House) -> None:
    page = my_recall(house.tina)
    assert "each life question: 60 (B)" in page
    assert "on average: 40 (B)" in page
    assert "<dt>B</dt><dd>Isolate</dd>" in page


def test_who_has_never_drilled_sees_what_is_missing_and_the_way(house: House) -> None:
    page = my_recall(house.nina)
    assert "Recall of life questions: rescue (A)" in page
    assert "asks for 60." in page
    assert "min today" in page


def test_an_open_unsafe_answer_stands_with_what_closes_it(house: House) -> None:
    unsafe_isolation(house, house.tina)
    page = my_recall(house.tina)
    assert "isolation, answered 2 Mar 2026 08:00" in page
    assert "A right answer to it on another day and a mentor's talk-through close it." in page
    assert "Until then you may not take a job that asks for isolation." in page


def test_what_still_closes_an_unsafe_answer_follows_what_was_done(house: House, set_clock: SetClock) -> None:
    record = answer(house, house.tina, house.questions[ISOLATION_LIFE], at=NOW - timedelta(hours=3), right=False)
    talk(house, house.tina, record, house.questions[ISOLATION_LIFE], at=NOW - timedelta(hours=1))
    assert "A mentor has talked it through. A right answer to it on another day closes it." in my_recall(house.tina)
    answer(house, house.tina, house.questions[ISOLATION_LIFE], at=NOW + timedelta(hours=20))
    set_clock(NOW + timedelta(hours=21))
    assert "Open unsafe answers" not in my_recall(house.tina)


def test_a_right_answer_alone_leaves_the_talk_through_to_be_had(house: House, set_clock: SetClock) -> None:
    unsafe_isolation(house, house.tina)
    answer(house, house.tina, house.questions[ISOLATION_LIFE], at=NOW + timedelta(hours=20))
    set_clock(NOW + timedelta(hours=21))
    assert "You have answered it right since. A mentor's talk-through closes it." in my_recall(house.tina)


def test_an_unsafe_answer_of_lesser_consequence_keeps_from_no_job(house: House) -> None:
    answer(house, house.tina, house.questions[3], at=NOW - timedelta(hours=2), right=False)
    assert "It keeps you from no job." in my_recall(house.tina)


def test_records_that_do_not_verify_are_said_first(house: House) -> None:
    Chain.objects.filter(pk=house.chain_id).update(first_bad_number=3)
    assert "the records do not verify" in my_recall(house.tina)


def test_without_a_rule_book_nothing_is_asked(house: House) -> None:
    page = my_recall(house.stranger)
    assert "No rule book is in force at your workshop yet" in page
    assert "<svg role=" not in page


def test_the_page_has_no_style_and_no_script_of_its_own(house: House) -> None:
    page = my_recall(house.tina)
    assert "style=" not in page
    assert "<style" not in page
    assert page.count("<script") == page.count('<script src="')


def test_the_first_page_and_the_menu_lead_to_it(house: House) -> None:
    first = signed_in(house.tina).get(reverse("board:home")).content.decode()
    assert first.count(f'href="{reverse("board:recall")}"') == 2


# ------------------------------------------------------------------------------------------------------ for managers
def test_a_manager_reads_the_state_of_each_topic_in_words(house: House) -> None:
    status, page = topics_of(house, house.rob, house.manager)
    assert status == 200
    assert "Enough for B until 25 Mar." in page
    assert "Enough for A and B until 26 Mar." in page
    assert page.count("Unsafe answers: none") == 2


def test_a_manager_reads_what_is_not_enough_and_how_many_unsafe_answers_are_open(house: House) -> None:
    unsafe_isolation(house, house.nina)
    status, page = topics_of(house, house.nina, house.manager)
    assert status == 200
    assert "Not enough for A now." in page
    assert "Unsafe answers: 1 open" in page


def test_a_manager_sees_no_curve_and_no_single_answer(house: House) -> None:
    unsafe_isolation(house, house.rob)
    _, page = topics_of(house, house.rob, house.manager)
    assert "<svg role=" not in page
    assert "in 100" not in page
    assert "question-" not in page
    assert "What now" not in page
    assert "08:00" not in page


@pytest.mark.parametrize("viewer", ["mentor", "tina", "rob", "stranger", "foreign_manager"])
def test_nobody_but_a_manager_of_the_group_opens_somebodys_topics(house: House, viewer: str) -> None:
    assert topics_of(house, house.rob, getattr(house, viewer))[0] == 404


def test_somebody_of_another_group_or_gone_has_no_topics_here(house: House) -> None:
    assert topics_of(house, house.stranger, house.manager)[0] == 404
    house.sam.is_active = False
    house.sam.save()
    assert topics_of(house, house.sam, house.manager)[0] == 404


def test_nobody_can_open_the_curves_of_somebody_else(house: House) -> None:
    """The page takes no person: everybody, a manager too, sees their own and nothing of anybody else."""
    page = my_recall(house.manager)
    assert "in 100" in page
    assert "today at least 93" not in page
    for extra in ("?person=", "?person_id="):
        again = signed_in(house.manager).get(f"{reverse('board:recall')}{extra}{house.tina.pk}").content.decode()
        assert "today at least 93" not in again


def test_the_cell_leads_a_manager_to_the_topics_and_nobody_else(house: House) -> None:
    cell = reverse("board:cell", args=[house.workshop.slug, house.rob.pk, "B"])
    topics = reverse("board:topics", args=[house.workshop.slug, house.rob.pk])
    assert topics in signed_in(house.manager).get(cell).content.decode()
    assert topics not in signed_in(house.rob).get(cell).content.decode()


@pytest.mark.parametrize("name", ["recall", "topics"])
def test_these_pages_are_only_read(house: House, name: str) -> None:
    args = [house.workshop.slug, house.rob.pk] if name == "topics" else []
    assert signed_in(house.manager).post(reverse(f"board:{name}", args=args)).status_code == 405


# ---------------------------------------------------------------------------------------------------------- drawing
def test_the_curve_lies_between_its_axes_and_falls(house: House) -> None:
    points = [Point(days=days, low=1 - days / 100, likely=1.0, lowest_life=0.0) for days in LOOKED_AT_DAYS]
    curve = curve_of(points, [(0.6, "sixty", True), (0.58, "fifty-eight", False)], ["today", "a", "b", "c"])
    places = [tuple(map(float, place.split(","))) for place in curve.low.split()]
    assert places[0] == (curve.left, curve.top)
    assert places[-1] == (curve.right, pytest.approx(curve.bottom - 0.1 * (curve.bottom - curve.top), abs=0.1))
    assert [y for _x, y in places] == sorted(y for _x, y in places)
    assert {place.split(",")[1] for place in curve.life.split()} == {f"{curve.bottom:.1f}"}
    assert len(curve.band.split()) == 2 * len(points)


def test_words_of_floors_that_lie_close_do_not_cover_each_other(house: House) -> None:
    points = [Point(days=days, low=0.5, likely=0.6, lowest_life=None) for days in LOOKED_AT_DAYS]
    curve = curve_of(points, [(0.58, "low", False), (0.6, "high", True), (0.59, "mid", True)], ["", "", "", ""])
    assert [line.text for line in curve.floors] == ["high", "mid", "low"]
    gaps = [float(b.text_y) - float(a.text_y) for a, b in zip(curve.floors, curve.floors[1:], strict=False)]
    assert min(gaps) >= 14
    assert curve.life == ""


def test_only_job_types_held_or_sought_draw_floors(house: House) -> None:
    from training.bank.rule_books import rule_book_of

    book = rule_book_of(house.workshop)
    assert book is not None
    assert [one.key for one in job_types_sought(house.nina, book, at=NOW)] == ["A"]
    page = my_recall(house.nina)
    assert "Recall of rescue" in page
    assert "Recall of isolation" not in page

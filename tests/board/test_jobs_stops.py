"""A stop reaches people: at the top of every page, on the wall, by mail at the worker's tick; and who has read it."""

from __future__ import annotations

import io
import time
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.core import mail
from django.core.cache import caches
from django.core.management import call_command
from django.urls import reverse

from tests.board.job_cast import Clock, proved, said, start, started_job, url, wrote
from tests.board.work_cast import Bay, signed_in
from tests.factories.people import ManagerFactory, PersonFactory, WorkshopFactory
from training.board.facts import StopRead
from training.board.management.commands import work
from training.board.tasks import watch_jobs
from training.board.work import now
from training.config.celery import app
from training.people.models import Person
from training.people.standing_down import stand_down
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]
HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    for each in ("default", "near"):
        caches[each].clear()


@pytest.fixture
def stopped(bay: Bay, clock: Clock) -> str:
    """A job that runs and whose lead has been stood down since."""
    key = started_job(bay)
    proved(bay, key, clock)
    falls(bay, clock)
    return key


def falls(bay: Bay, clock: Clock) -> None:
    stand_down(person=bay.lead, job_types=None, reason="Hot smell.", medical=False, by=bay.manager, at=clock.now)


def page(person: Person, address: str) -> str:
    return unescape(signed_in(person).get(address).content.decode())


def read_by(bay: Bay, key: str, person: Person) -> Any:
    return signed_in(person).post(reverse("board:stop_read", args=[bay.workshop.slug, key]))


# ---------------------------------------------------------------- at the top of every page
def test_everybody_on_the_job_and_the_manager_read_stop_on_every_page(bay: Bay, stopped: str) -> None:
    pages = [
        reverse(name) for name in ("board:home", "board:card", "people:mine", "people:everyone", "people:cautions")
    ]
    pages += [reverse(name, args=[bay.workshop.slug]) for name in ("board:board", "equipment:register", "board:rules")]
    for person in (bay.lead, bay.second, bay.manager):
        for address in pages:
            shown = page(person, address)
            assert "Stop work" in shown, (person, address)
            assert "Hands off and back off; treat every part as live." in shown
            assert "I have read it" in shown
            assert url(bay, stopped) in shown
            assert "Hot smell" not in shown or person != bay.second, "a reason is for those who may see it"


def test_whoever_is_not_on_the_job_reads_on_the_wall_that_it_is_stopped_and_not_why(bay: Bay, stopped: str) -> None:
    colleague = PersonFactory(workshop=bay.workshop)
    assert "Stop work" not in page(colleague, reverse("board:home"))
    wall = page(colleague, reverse("board:board", args=[bay.workshop.slug]))
    top, _, rest = wall.partition('<table class="board">')
    assert "Stopped:" in top
    assert "Nobody works on it. Keep out: the cordon stays." in top
    assert bay.lead.short_name not in top
    assert rest, "it stands above the board"


def test_nobody_is_told_to_stop_while_nothing_has_fallen(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    for person in (bay.lead, bay.second, bay.manager):
        home = page(person, reverse("board:home"))
        assert "Stop work" not in home
        assert url(bay, key) in home, "the running job is one tap away"
    assert "Stopped:" not in page(bay.manager, reverse("board:board", args=[bay.workshop.slug]))


def test_a_job_that_goes_on_or_is_handed_back_stops_nobody_any_more(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    wrote(bay, key, "stop", by=bay.second, says="Smell")
    assert "Stop work" in page(bay.lead, reverse("people:mine"))
    assert start(bay, key).status_code == 302
    assert "Stop work" not in page(bay.lead, reverse("people:mine"))


def test_the_manager_of_another_site_is_told_only_where_nobody_manages(bay: Bay, stopped: str) -> None:
    other = ManagerFactory(workshop=WorkshopFactory(group=bay.workshop.group))
    assert "Stop work" not in page(other, reverse("people:mine"))
    Person.objects.filter(pk=bay.manager.pk).update(is_active=False)
    assert "Stop work" in page(other, reverse("people:mine"))
    assert "Stop work" not in page(ManagerFactory(), reverse("people:mine"))


def test_what_cannot_be_worked_out_counts_as_a_stop_and_breaks_no_page(
    bay: Bay, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    started_job(bay)

    def fails(*_args: object, **_kw: object) -> None:
        raise RuntimeError("the disk is gone")

    monkeypatch.setattr(now, "fallen_of", fails)
    shown = page(bay.lead, reverse("people:mine"))
    assert "Stop work" in shown
    assert "could not be worked out" in shown


def test_pages_ask_once_where_no_job_runs_and_the_clearances_only_once_a_moment(
    bay: Bay, clock: Clock, monkeypatch: pytest.MonkeyPatch, django_assert_num_queries: Callable[..., Any]
) -> None:
    with django_assert_num_queries(1):
        assert now.running_for(bay.lead, at=clock.now) == []
    key = started_job(bay)
    asked = []
    plain = now.fallen_of
    monkeypatch.setattr(now, "fallen_of", lambda *args, **kw: (asked.append(1), plain(*args, **kw))[1])
    for person in (bay.lead, bay.second, bay.manager, bay.lead):
        assert [one.job.key for one in now.running_for(person, at=clock.now)] == [key]
    assert len(asked) == 1
    falls(bay, clock)
    assert now.running_for(bay.lead, at=clock.now)[0].ended, "whatever is written shows at once"


# ---------------------------------------------------------------- read, on record
def test_having_read_it_is_on_record_once_and_shrinks_the_banner_to_a_line(bay: Bay, stopped: str) -> None:
    for _twice in range(2):
        assert read_by(bay, stopped, bay.lead).status_code == 302
    assert Record.objects.filter(kind=StopRead.kind, about=stopped).count() == 1
    mine = page(bay.lead, reverse("people:mine"))
    assert "You read it" in mine
    assert "I have read it" not in mine
    assert "I have read it" in page(bay.second, reverse("people:mine")), "everybody reads for themselves"
    shown = said(bay, stopped, by=bay.manager)
    assert "has read the stop" in shown
    assert "has not read the stop yet" in shown
    assert "Read that the work has to stop" in shown


def test_a_new_reason_and_a_stop_after_a_new_start_are_read_anew(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    wrote(bay, key, "stop", by=bay.second, says="Smell")
    read_by(bay, key, bay.lead)
    wrote(bay, key, "stop", by=bay.second, says="Hot part")
    assert "I have read it" in page(bay.lead, reverse("people:mine"))
    read_by(bay, key, bay.lead)
    assert start(bay, key).status_code == 302
    wrote(bay, key, "stop", by=bay.second, says="Smell")
    assert "I have read it" in page(bay.lead, reverse("people:mine"))


def test_only_who_was_told_reads_and_only_what_has_to_stop(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    assert read_by(bay, key, bay.lead).status_code == 400, "it does not have to stop"
    wrote(bay, key, "stop", by=bay.second, says="Smell")
    assert read_by(bay, key, PersonFactory(workshop=bay.workshop)).status_code == 400
    assert read_by(bay, "no-such-job", bay.lead).status_code == 400
    assert read_by(bay, key, ManagerFactory()).status_code == 404
    assert not Record.objects.filter(kind=StopRead.kind).exists()


# ---------------------------------------------------------------- pages that are open
def test_pages_look_by_themselves_where_somebody_is_on_a_job_and_a_managers_always(bay: Bay, clock: Clock) -> None:
    mine, colleague = reverse("people:mine"), PersonFactory(workshop=bay.workshop)
    looking = f'hx-get="{reverse("board:stops")}?stood='

    def looks(person: Person) -> bool:
        return looking in page(person, mine)

    assert [looks(each) for each in (bay.lead, bay.manager, colleague)] == [False, True, False]
    started_job(bay)
    assert [looks(each) for each in (bay.lead, bay.second, bay.manager, colleague)] == [True, True, True, False]


def test_an_open_page_is_told_of_what_is_new_and_of_nothing_else(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    client, places = signed_in(bay.lead), {}
    for name, address in (
        ("stops", reverse("board:stops")),
        ("stopped", reverse("board:stopped", args=[bay.workshop.slug])),
        ("job", url(bay, key)),
    ):
        first = client.get(address, headers=HTMX)
        places[name] = (address, first.context["mark"] if name == "job" else first.context["stops"].mark)
    falls(bay, clock)
    changed = {name: client.get(address, {"stood": mark}, headers=HTMX) for name, (address, mark) in places.items()}
    assert "Stop work" in changed["stops"].content.decode()
    assert "Stop work" in changed["job"].content.decode()
    assert changed["stopped"].status_code == 204, "their own job stands at the top already"
    wall = signed_in(PersonFactory(workshop=bay.workshop)).get(places["stopped"][0], headers=HTMX)
    assert "Stopped:" in wall.content.decode()
    for name, answer in changed.items():
        mark = answer.context["mark"] if name == "job" else answer.context["stops"].mark if answer.context else ""
        if mark:
            assert client.get(places[name][0], {"stood": mark}, headers=HTMX).status_code == 204, name


def test_the_page_of_the_job_says_it_once(bay: Bay, stopped: str) -> None:
    shown = said(bay, stopped)
    assert shown.count("Hands off and back off") == 1
    assert shown.count("I have read it") == 1
    banner = signed_in(bay.lead).get(reverse("board:stops"), {"besides": stopped}, headers=HTMX)
    assert "Stop work" not in banner.content.decode()


# ---------------------------------------------------------------- the worker's tick
def test_the_worker_without_redis_looks_at_running_jobs_and_mails_once_an_hour_until_it_is_read(
    bay: Bay, clock: Clock, stopped: str, settings: Any
) -> None:
    settings.ADMINS = [("safety", "safety@firm.example")]

    def tick() -> str:
        told = io.StringIO()
        call_command("work", once=True, stdout=told)
        return told.getvalue()

    assert "1 running jobs have to stop" in tick()
    assert [one.to for one in mail.outbox] == [["safety@firm.example"]]
    assert "bay 2" in mail.outbox[0].subject
    assert url(bay, stopped) in mail.outbox[0].body
    assert bay.lead.family_name not in mail.outbox[0].body, "mail is open to many"
    tick()
    assert len(mail.outbox) == 1
    caches["default"].clear()  # an hour is over
    tick()
    assert len(mail.outbox) == 2
    caches["default"].clear()
    read_by(bay, stopped, bay.manager)
    assert "1 running jobs have to stop" in tick()
    assert len(mail.outbox) == 2


def test_the_loop_of_the_worker_looks_at_its_first_turn(
    stopped: str, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.ADMINS = [("safety", "safety@firm.example")]

    def enough(_seconds: float) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(time, "sleep", enough)
    monkeypatch.setattr(work, "close_old_connections", lambda: None)  # this test's own is in a transaction
    with pytest.raises(KeyboardInterrupt):
        call_command("work", stdout=io.StringIO())
    assert len(mail.outbox) == 1


def test_beat_looks_at_least_once_a_minute() -> None:
    entry = app.conf.beat_schedule["board.watch_jobs"]
    assert entry["task"] == "board.watch_jobs"
    assert entry["schedule"] <= 60


def test_a_mail_that_does_not_go_out_is_tried_again_and_ends_nothing(
    stopped: str, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.ADMINS = [("safety", "safety@firm.example")]

    def refused(*_args: object, **_kw: object) -> None:
        raise ConnectionRefusedError

    with monkeypatch.context() as broken:
        broken.setattr("training.board.tasks.mail_admins", refused)
        assert watch_jobs() == 1
    assert watch_jobs() == 1
    assert len(mail.outbox) == 1

"""The whole life of a job on phones: planned, refused, started, proved dead, rested, handed over, stopped, handed back.

Two people on it, a third who takes over, and a manager at a desk; every page is looked at as it comes.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from tests.board.job_cast import C_KINDS, another_lead, read
from tests.board.work_cast import Bay
from tests.factories.bank import TaskVersionFactory
from tests.journeys.conftest import Clock
from tests.journeys.looking import look_at
from tests.journeys.steps import sign_in
from tests.journeys.test_start_of_work import fill_in
from training.board.facts import StopRead, TaskDone
from training.board.models import Job
from training.people.models import Person
from training.records.models import Record

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
DESK = {"viewport": {"width": 1280, "height": 800}, "is_mobile": False, "has_touch": False}
NewPage = Callable[..., Page]


class Crew:
    """The pages of everybody on a job, each signed in, and what they do on them with a thumb."""

    def __init__(self, bay: Bay, clock: Clock, new_page: NewPage) -> None:
        self.bay, self.clock, self.new_page = bay, clock, new_page
        self.key = ""

    def page_of(self, person: Person, **screen: Any) -> Page:
        """A page of their own."""
        page = self.new_page(**screen)
        sign_in(page, person)
        return page

    def open(self, page: Page) -> Locator:
        """The job's page; what it says of where the job stands."""
        page.goto(reverse("board:job", args=[self.bay.workshop.slug, self.key]))
        return page.locator("#stands")

    def write(self, page: Page, form: str, **values: str) -> None:
        """Fill in one form of the job's page and send it by its button; the page comes back with it on record."""
        before = Record.objects.count()
        there = page.locator(f"form:has(input[name=form][value={form}])")
        expect(there).to_have_count(1)
        if not there.is_visible():
            page.locator("details", has=there).locator("summary").tap()
        for name, value in values.items():
            box = there.locator(f"[name={form}-{name}]")
            box.select_option(value) if box.evaluate("one => one.tagName") == "SELECT" else box.fill(value)
        look_at(page)
        there.get_by_role("button").tap()
        expect(page.get_by_text("Nothing was recorded")).to_have_count(0)
        page.wait_for_load_state()
        assert Record.objects.count() == before + 1

    def read_every_pair(self, page: Page, volts: str = "0.4") -> None:
        """Prove the tester, measure every pair, prove it again."""
        boxes = page.locator("form:has(input[name=form][value=measure]) input[inputmode=decimal]")
        figures = {"source": "500", "before": "499", "after": "501", "maker": "5"}
        typed = {}
        for box in boxes.all():
            name = str(box.get_attribute("name"))
            figure = next((value for part, value in figures.items() if f"-{part}_" in name), volts)
            typed[name.removeprefix("measure-")] = "5" if "wait" in name else figure
        self.write(page, "measure", **typed)


@pytest.fixture
def crew(bay: Bay, clock: Clock, new_page: NewPage) -> Crew:
    TaskVersionFactory(group=bay.workshop.group, ident="T3", title="Isolate and prove dead")
    return Crew(bay, clock, new_page)


def asked(bay: Bay, lead: Person, kit: list[int], **changed: Any) -> dict[str, Any]:
    """Every answer of a start of work for job type C."""
    client = Client()
    client.force_login(lead)
    return bay.form(client, job_type="C", lead=lead.pk, lead_kit=kit, family="car", bay="2", **changed)


def start(crew: Crew, page: Page, lead: Person, kit: list[int]) -> None:
    """Ask the start of work that the job's page leads to, with every answer given."""
    form = asked(crew.bay, lead, kit)
    fill_in(page, {name: value for name, value in form.items() if name not in ("token", "job_type")})
    look_at(page)
    page.get_by_role("button", name="May this job start?").or_(page.get_by_role("button", name="Ask again")).tap()
    expect(page.get_by_text("Yes: may start")).to_be_visible()
    page.get_by_role("link", name="To the job").tap()
    expect(page.locator("#stands")).to_be_visible()


def plan(crew: Crew, desk: Page) -> None:
    """The manager plans the job and finds it on the page of today's crews."""
    bay = crew.bay
    desk.goto(reverse("board:plan_job", args=[bay.workshop.slug]))
    look_at(desk)
    desk.get_by_label("Job type").select_option("C")
    for label, value in (
        ("Vehicle", "QF 417"),
        ("Vehicle family", "car"),
        ("Bay", "2"),
        ("Highest working voltage, DC", "450"),
        ("Highest working voltage, AC", "300"),
        ("Mass of the vehicle, in kg", "2100"),
        ("Planned start", bay.local(0)),
        ("Planned end", bay.local(4)),
    ):
        desk.get_by_label(label, exact=True).fill(value)
    desk.get_by_label("Person in control (lead)").select_option(str(bay.lead.pk))
    desk.get_by_label("Second person").select_option(str(bay.second.pk))
    desk.get_by_label("Isolate and prove dead").check()
    desk.get_by_role("button", name="Plan").click()
    expect(desk.locator("#stands")).to_contain_text("Planned")
    look_at(desk)
    crew.key = str(Job.objects.values_list("key", flat=True)[0])
    desk.goto(reverse("board:crews", args=[bay.workshop.slug]))
    expect(desk.get_by_text("Can lead")).to_be_visible()
    look_at(desk)


def test_a_job_lives_from_plan_to_the_task_confirmed(crew: Crew, clock: Clock, new_page: NewPage) -> None:
    bay = crew.bay
    desk = crew.page_of(bay.manager, **DESK)
    plan(crew, desk)
    lead, second = crew.page_of(bay.lead), crew.page_of(bay.second)

    # refused with everything that is missing, then yes
    crew.open(lead)
    look_at(lead)
    lead.get_by_role("link", name="Start of work", exact=True).tap()
    lead.get_by_role("button", name="May this job start?").tap()
    expect(lead.locator("#start_of_work .tally")).to_contain_text("Not yet")
    assert lead.locator("#start_of_work .tally li").count() >= 6
    look_at(lead)
    kit = [bay.lead_kit[kind].pk for kind in C_KINDS]
    start(crew, lead, bay.lead, kit)

    # own lock, the maker's wait, every pair
    crew.write(lead, "lock_on", number="17")
    clock.passes(minutes=6)
    crew.open(lead)
    crew.read_every_pair(lead)
    expect(lead.locator("#stands")).to_contain_text("Under way")
    look_at(lead)

    # an absence, and everything is measured again
    crew.write(lead, "away", person=bay.lead.key)
    expect(crew.open(second)).to_contain_text("Work rests")
    look_at(second)
    crew.write(lead, "back", person=bay.lead.key)
    expect(lead.locator("#stands")).to_contain_text("Prove dead again")
    crew.read_every_pair(lead)
    expect(lead.locator("#stands")).to_contain_text("Under way")

    # shift change: offered by name, both present, lock for lock, proved anew
    other, kit = another_lead(bay, clock)
    crew.open(lead)
    crew.write(lead, "offer", person=other.key)
    third = crew.page_of(other)
    crew.open(third)
    look_at(third)
    third.get_by_role("link", name="Take over: start of work").tap()
    start(crew, third, other, kit)
    crew.write(third, "lock_on", number="31")
    crew.open(lead)
    crew.write(lead, "lock_off")
    clock.passes(minutes=6)
    expect(crew.open(third)).to_contain_text("Prove dead again")
    crew.read_every_pair(third)
    expect(third.locator("#stands")).to_contain_text("Under way")

    stop_and_go_on(crew, desk, second, third, other, kit)
    lock_of_the_absent(crew, desk, second, third)
    hand_back(crew, second, third, other)


def stop_and_go_on(crew: Crew, desk: Page, second: Page, third: Page, lead: Person, kit: list[int]) -> None:
    """The second person stops the work; everybody who has to know reads it wherever they are, then it starts anew."""
    third.clock.install()
    third.goto(reverse("people:mine"))
    crew.open(second)
    crew.write(second, "stop", says="Smell at the inverter")
    third.clock.fast_forward("00:31")  # an open page looks by itself
    expect(third.locator(".watch[aria-live=assertive]")).to_contain_text("Smell at the inverter")
    third.clock.resume()
    expect(second.locator("#stands")).to_contain_text("Stop work")
    look_at(second)
    for page in (third, desk):
        page.goto(reverse("people:mine") if page is third else reverse("board:board", args=[crew.bay.workshop.slug]))
        expect(page.locator(".watch")).to_contain_text("Stop work")
        expect(page.locator(".watch")).to_contain_text("Smell at the inverter")
        look_at(page)
    third.get_by_role("button", name="I have read it").tap()
    expect(third.locator("#stands")).to_contain_text("has read the stop")
    look_at(third)
    assert Record.objects.filter(kind=StopRead.kind).count() == 1
    third.goto("/")
    expect(third.locator(".watch")).to_contain_text("You read it")
    look_at(third)
    crew.open(third)
    third.get_by_role("link", name="New start of work").tap()
    start(crew, third, lead, kit)
    expect(third.locator("#stands")).to_contain_text("Prove dead again")
    crew.read_every_pair(third)


def lock_of_the_absent(crew: Crew, desk: Page, second: Page, third: Page) -> None:
    """The second person's own lock is on and they are off site: it comes off by the written rule, by two people."""
    crew.open(second)
    crew.write(second, "lock_on", number="22")
    crew.write(second, "away", person=crew.bay.second.key)
    crew.open(third)
    rule = {"certain": "Gate log, 16:02", "tried": "Rang twice", "tells": "The manager, at the gate"}
    crew.write(third, "remove", person=crew.bay.second.key, **rule)
    crew.open(desk)
    look_at(desk)
    desk.get_by_role("button", name="I agree, it is off").click()
    expect(desk.locator("#stands")).to_contain_text("to be told: lock taken off")
    crew.open(second)
    look_at(second)
    crew.open(third)
    crew.write(third, "back", person=crew.bay.second.key)
    crew.write(third, "told", person=crew.bay.second.key)


def hand_back(crew: Crew, second: Page, third: Page, lead: Person) -> None:
    """Proved once more, counted, insulated, warned, unlocked, re-energised, handed back; then the task is confirmed."""
    crew.open(third)
    crew.read_every_pair(third)
    crew.write(third, "count", tools_out="12", tools_back="12", people_clear="2", refitted="Covers, seals, torque")
    crew.write(third, "insulation", measured_0="12", maker_0="5", instrument="R-1")
    crew.write(third, "warned", says="Both neighbours and the counter")
    crew.write(third, "lock_off")
    crew.write(third, "energise", says="Edition 12; no warning shown")
    crew.write(third, "label_off")
    crew.write(third, "close", handed_to="M. at the counter: no fault shown")
    expect(third.locator("#stands")).to_contain_text("Closed")
    look_at(third)
    crew.open(second)
    look_at(second)
    second.get_by_role("button", name=f"Confirm: {lead.short_name} did it").tap()
    expect(second.get_by_text("Confirmed. It counts as last done")).to_be_visible()
    assert Record.objects.filter(kind=TaskDone.kind, about=lead.key).count() == 1
    over = read(crew.bay, crew.key).state.over
    assert over is not None
    assert over.closed

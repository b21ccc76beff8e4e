"""Start of work through the pages: yes on record once, or everything that is missing, and nothing in between."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from tests.board.work_cast import Bay, appointed, make_bay, signed_in, watched
from tests.factories.equipment import in_service
from tests.factories.people import ManagerFactory, PersonFactory, WorkshopFactory
from training.board.facts import JobCalledOff, WorkStarted
from training.board.models import Job
from training.board.work.writing import write
from training.core.permission.mapping import from_mapping
from training.core.trade.calendar import local_day
from training.equipment.actions import note_something, pre_use_check
from training.people.standing_down import stand_down
from training.records.models import Body, Mark, Record
from training.records.queries import facts_of
from training.records.triggers import away

pytestmark = [pytest.mark.django_db, pytest.mark.db]

CAUTION = "Hookside never says that a vehicle is safe"
ABOUT = "About people and kit, not about the vehicle"


@pytest.fixture
def bay() -> Bay:
    return make_bay()


def starts() -> int:
    return Record.objects.filter(kind=WorkStarted.kind).count()


def not_yet(answer: Any) -> str:
    """The words of an answer that is not yet, and nothing recorded."""
    assert answer.status_code == 200
    said: str = answer.content.decode()
    assert "Not yet" in said
    assert ABOUT in said
    assert CAUTION in said
    assert starts() == 0
    return said


# ---------------------------------------------------------------- yes
def test_with_people_kit_and_papers_there_the_answer_is_yes_and_on_record(bay: Bay) -> None:
    answer = bay.ask(signed_in(bay.lead))
    assert answer.status_code == 302
    said = signed_in(bay.second).get(answer["Location"]).content.decode()
    number = Record.objects.get(kind=WorkStarted.kind).number
    for words in ("Yes: may start", ABOUT, CAUTION, bay.lead.full_name, bay.second.full_name, f"Record {number}"):
        assert words in said
    assert said.index(bay.lead.full_name) < said.index("QF 417"), "it starts with the person"


def test_the_record_holds_the_decisions_and_answers_it_stood_on(bay: Bay) -> None:
    bay.ask(signed_in(bay.lead))
    row = facts_of([WorkStarted], chain_id=bay.workshop.group.chain_id)[0]
    assert row.fact is not None
    stood_on = json.loads(row.fact.decision)
    assert (row.fact.job_type, row.fact.vehicle, row.fact.lead) == ("E", "QF 417", bay.lead.key)
    assert set(row.fact.kit) == {i.key for kit in (bay.lead_kit, bay.second_kit) for i in kit.values()}
    for role, person, proved in (("lead", bay.lead, "E"), ("second_person", bay.second, "second person")):
        decision = from_mapping(stood_on[role]["decision"])
        assert stood_on[role]["person"] == person.key
        assert (decision.job_type, decision.mode.value) == (proved, "alone")
        assert decision.proofs
    assert stood_on["answers"]["procedure_edition"] == "edition 12"
    assert stood_on["vehicle"]["highest_dc_v"] == "450.0"
    assert stood_on["kit"]["second person"] == [i.ident for i in bay.second_kit.values()]


def test_a_second_tap_on_the_same_form_starts_nothing_twice(bay: Bay) -> None:
    client = signed_in(bay.lead)
    form = bay.form(client)
    first, second = client.post(bay.url, form), client.post(bay.url, form)
    assert first["Location"] == second["Location"]
    assert starts() == 1


def test_a_start_moves_nobodys_clearance(bay: Bay) -> None:
    before = dict(Mark.objects.values_list("key", "number"))
    bay.ask(signed_in(bay.lead))
    after = dict(Mark.objects.values_list("key", "number"))
    assert {key: after[key] for key in before} == before


def test_a_job_type_that_asks_for_less_is_asked_for_less(bay: Bay) -> None:
    client = signed_in(bay.lead)
    fields = client.get(bay.url, {"job_type": "A"}).context["form"].fields
    assert not {"second_person", "cordon_up", "ordered_by", "procedure_edition", "mass_kg"} & set(fields)
    assert bay.ask(client, job_type="A", lead_kit=None).status_code == 302


def test_a_lift_is_judged_by_this_vehicles_loads(bay: Bay) -> None:
    lift = in_service(bay.workshop, "lift", by=bay.manager, at=timezone.now())
    pre_use_check(item=lift, passed=True, by=bay.lead, at=timezone.now())
    loads = {
        "mass_kg": "2000",
        "rear_axle_kg": "1000",
        "wheelbase_m": "2.8",
        "front_pads_m": "0.6",
        "rear_pads_m": "2.2",
    }
    client = signed_in(bay.lead)
    assert "not known" in not_yet(bay.ask(client, job_type="B", lead_kit=[lift.pk]))
    tail_heavy = bay.ask(client, job_type="B", lead_kit=[lift.pk], part_kg="1000", part_at_m="0", **loads)
    assert "tips off its pads" in not_yet(tail_heavy)
    half = bay.ask(client, job_type="B", lead_kit=[lift.pk], part_kg="500", **loads)
    assert "not known" in not_yet(half)
    heavy = loads | {"mass_kg": "5000", "rear_axle_kg": "2500"}
    assert "heavier than the lift" in not_yet(bay.ask(client, job_type="B", lead_kit=[lift.pk], **heavy))
    assert bay.ask(client, job_type="B", lead_kit=[lift.pk], **loads).status_code == 302


# ---------------------------------------------------------------- not yet
MISSING: list[tuple[dict[str, Any], str]] = [
    ({"vehicle": ""}, "The vehicle is not named"),
    ({"highest_dc_v": ""}, "Unknown counts as no"),
    ({"highest_ac_v": ""}, "Unknown counts as no"),
    ({"highest_dc_v": "0", "highest_ac_v": "0"}, "that is no HV vehicle"),
    ({"lead": ""}, "Nobody is named to lead"),
    ({"second_person": ""}, "nobody is named"),
    ({"stands_by": None}, "nothing else to do"),
    ({"procedure_opened_today": None}, "No procedure, no job"),
    ({"procedure_edition": " "}, "No procedure, no job"),
    ({"ordered_by": ""}, "No live-work order"),
    ({"why_not_dead": ""}, "No live-work order"),
    ({"cordon_up": None}, "The cordon is not up"),
    ({"planned_end": ""}, "not said when the job"),
    ({"highest_dc_v": "1600"}, "Class 0 is too low"),
    ({"point_of_work": "", "highest_dc_v": ""}, "Unknown counts as no"),
    ({"lead_kit": None}, "Not in hand: gloves"),
    ({"second_kit": None}, "Not in the second person&#x27;s hands: hook"),
]


def test_each_answer_that_is_missing_is_said(bay: Bay) -> None:
    client = signed_in(bay.lead)
    for changed, words in MISSING:
        assert words in not_yet(bay.ask(client, **changed)), changed


def test_everything_that_is_missing_is_said_at_once(bay: Bay) -> None:
    client = signed_in(bay.lead)
    shown = client.get(bay.url, {"job_type": "E"})
    said = not_yet(client.post(bay.url, {"job_type": "E", "token": shown.context["form"]["token"].value()}))
    for words in ("People", "Kit", "Papers, bay and vehicle", "No procedure, no job", "No live-work order"):
        assert words in said
    for kind in ("gloves", "meter", "leads", "proving unit", "lock", "visor", "hook", "mat", "insulated tools"):
        assert f"Not in hand: {kind}." in said


def test_the_planned_end_is_to_come_and_at_most_ten_hours_away(bay: Bay) -> None:
    client = signed_in(bay.lead)
    assert "already past" in not_yet(bay.ask(client, planned_end=bay.local(-1)))
    assert "more than 10 hours" in not_yet(bay.ask(client, planned_end=bay.local(10.1)))


def test_a_stand_down_shows_at_the_very_next_ask(bay: Bay) -> None:
    stand_down(person=bay.lead, job_types=None, reason="Hot smell.", medical=False, by=bay.second, at=timezone.now())
    said = not_yet(bay.ask(signed_in(bay.lead)))
    assert "May not take this yet" in said
    assert "No stand-down is open." in said


def test_somebody_elses_gaps_are_for_them_and_their_manager(bay: Bay) -> None:
    stranger = PersonFactory(workshop=bay.workshop)
    seen_by_lead = not_yet(bay.ask(signed_in(bay.lead), second_person=stranger.pk))
    assert "May not take this yet: Second person." in seen_by_lead
    assert "own page" in seen_by_lead
    assert "on record whether the person is under 18" not in seen_by_lead
    seen_by_manager = not_yet(bay.ask(signed_in(bay.manager), second_person=stranger.pk))
    assert "on record whether the person is under 18" in seen_by_manager


def test_the_lead_is_never_the_second_person(bay: Bay) -> None:
    assert "Cannot lead and be second person" in not_yet(bay.ask(signed_in(bay.lead), second_person=bay.lead.pk))


def test_kit_that_is_not_fit_is_named_with_every_reason(bay: Bay) -> None:
    gloves = bay.lead_kit["gloves"]
    today = local_day(timezone.now(), bay.workshop.zone)
    note_something(item=gloves, what="oil", noted_on=today, by=bay.second, at=timezone.now())
    said = not_yet(bay.ask(signed_in(bay.lead), highest_dc_v="2000"))
    assert gloves.ident in said
    assert "retest before use" in said
    assert "Class 0 is too low" in said


def test_the_check_is_today_and_the_wearers_own(bay: Bay) -> None:
    swapped = bay.lead_kit | {"gloves": bay.second_kit["gloves"]}
    held = bay.second_kit | {"gloves": bay.lead_kit["gloves"]}
    said = not_yet(
        bay.ask(
            signed_in(bay.lead),
            lead_kit=[i.pk for i in swapped.values()],
            second_kit=[i.pk for i in held.values()],
        )
    )
    assert said.count("checked by somebody else than the wearer") == 2


def test_unchecked_kit_does_not_start(bay: Bay) -> None:
    fresh = in_service(bay.workshop, "meter", by=bay.manager, at=timezone.now())
    kit = [i.pk for i in (bay.lead_kit | {"meter": fresh}).values()]
    assert "It was not checked before use." in not_yet(bay.ask(signed_in(bay.lead), lead_kit=kit))


def test_a_supervised_lead_starts_only_with_a_named_supervisor_who_does_nothing_else() -> None:
    bay = make_bay(seen=("E",))
    supervisor = PersonFactory(workshop=bay.workshop)
    appointed(supervisor, bay.manager, "E", "second person")
    client = signed_in(bay.lead)
    assert "May not take this yet" in not_yet(bay.ask(client)), "nobody can supervise yet"
    watched(supervisor, "T1", bay.manager)
    assert "only under supervision" in not_yet(bay.ask(client))
    assert "May not supervise this job" in not_yet(bay.ask(client, supervisor=bay.second.pk))
    both = bay.ask(client, supervisor=supervisor.pk, second_person=supervisor.pk)
    assert "Cannot supervise and be second person" in not_yet(both)
    yes = bay.ask(client, supervisor=supervisor.pk)
    assert yes.status_code == 302
    said = client.get(yes["Location"]).content.decode()
    assert "Under supervision of" in said
    assert supervisor.full_name in said


def test_somebody_on_another_job_is_not_free_until_it_is_over(bay: Bay) -> None:
    client = signed_in(bay.lead)
    first = bay.ask(client)
    assert first.status_code == 302
    again = bay.ask(client)
    assert again.status_code == 200
    said = again.content.decode()
    assert said.count("Is on another job") == 2, "lead and second person"
    assert bay.lead.full_name in said
    assert starts() == 1
    assert bay.ask(client, others_over="on").status_code == 200, "a tick says nothing"
    job = Job.objects.get()
    fact = JobCalledOff(why="The vehicle was driven away.", by=bay.manager.key)
    write(fact, key=job.key, workshop=bay.workshop, by=bay.manager, at=timezone.now())
    assert bay.ask(client).status_code == 302
    assert starts() == 2


def test_a_job_that_is_past_its_planned_end_still_holds_its_people(bay: Bay, monkeypatch: pytest.MonkeyPatch) -> None:
    client = signed_in(bay.lead)
    assert bay.ask(client, planned_end=bay.local(0.5)).status_code == 302
    later = timezone.now() + timedelta(hours=1)
    monkeypatch.setattr(timezone, "now", lambda: later)
    assert "Is on another job" in bay.ask(client).content.decode()


def test_a_start_of_work_that_cannot_be_read_may_be_anybodys_job(bay: Bay) -> None:
    client, others = signed_in(bay.lead), [PersonFactory(workshop=bay.workshop) for _each in range(2)]
    appointed(others[0], bay.manager, "A", "E")
    appointed(others[1], bay.manager, "A", "second person")
    assert bay.ask(client).status_code == 302
    with away(connection):
        Body.objects.filter(record__kind=WorkStarted.kind).delete()
    said = bay.ask(client, lead=others[0].pk, second_person=others[1].pk).content.decode()
    assert "anybody may be on it" in said
    assert starts() == 1


def test_without_a_rule_book_no_job_starts() -> None:
    person = PersonFactory()
    there = reverse("board:start_of_work", args=[person.workshop.slug])
    assert "No rule book is in force" in signed_in(person).get(there).content.decode()
    assert signed_in(person).post(there, {"job_type": "A"}).status_code == 400


# ---------------------------------------------------------------- what is malformed, and whose it is
MALFORMED: list[dict[str, Any]] = [
    {"job_type": "Z"},
    {"job_type": "second person"},
    {"job_type": ""},
    {"highest_dc_v": "many"},
    {"highest_dc_v": "nan"},
    {"highest_ac_v": "-3"},
    {"lead": "999999"},
    {"lead": "nobody"},
    {"lead_kit": ["999999"]},
    {"lead_kit": ["x"]},
    {"planned_end": "tomorrow"},
    {"planned_end": "0001-01-01T00:00"},
    {"point_of_work": "under the sea"},
    {"token": "made-up"},
    {"token": None},
    {"vehicle": "x" * 61},
]


def test_a_malformed_post_is_a_400_and_records_nothing(bay: Bay) -> None:
    client = signed_in(bay.lead)
    right = bay.form(client)
    for changed in MALFORMED:
        posted = {name: value for name, value in (right | changed).items() if value is not None}
        assert client.post(bay.url, posted).status_code == 400, changed
    assert starts() == 0


def test_people_and_kit_of_elsewhere_cannot_be_named(bay: Bay) -> None:
    stranger = PersonFactory(workshop=WorkshopFactory(group=bay.workshop.group))
    other = ManagerFactory()
    hook = in_service(other.workshop, "hook", by=other, at=timezone.now())
    client = signed_in(bay.lead)
    assert bay.ask(client, lead=stranger.pk).status_code == 400
    assert bay.ask(client, second_kit=[hook.pk]).status_code == 400


def test_a_start_of_work_of_another_group_is_404(bay: Bay) -> None:
    bay.ask(signed_in(bay.lead))
    number = Record.objects.get(kind=WorkStarted.kind).number
    stranger = signed_in(ManagerFactory())
    assert stranger.get(bay.url).status_code == 404
    assert stranger.post(bay.url, {"job_type": "E"}).status_code == 404
    assert stranger.get(reverse("board:started", args=[bay.workshop.slug, number])).status_code == 404
    sister = WorkshopFactory(group=bay.workshop.group)
    own = signed_in(bay.lead)
    assert own.get(reverse("board:started", args=[sister.slug, number])).status_code == 404
    assert own.get(reverse("board:started", args=[bay.workshop.slug, number - 1])).status_code == 404


def test_a_start_whose_planned_end_is_past_says_so(bay: Bay, monkeypatch: pytest.MonkeyPatch) -> None:
    there = bay.ask(signed_in(bay.lead))["Location"]
    later = timezone.now() + timedelta(hours=5)
    monkeypatch.setattr(timezone, "now", lambda: later)
    said = signed_in(bay.lead).get(there).content.decode()
    assert "The planned end is past" in said
    assert "Yes: may start" not in said

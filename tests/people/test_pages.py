"""The pages about people: who may open them, what they say, and what a wrong post gets."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.factories.people import PersonFactory
from tests.people.cast import Cast, appoint, make_cast, papers, seen_at_once, signed_in
from training.people import actions, fresh, offers, standing_down
from training.people.models import Workshop
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]

TODAY = timezone.now().date()  # the pages read the clock
PAPERS = {
    "certificate": {
        "certificate": "first aid and CPR",
        "issuer": "Town school",
        "issued_on": (TODAY - timedelta(days=9)).isoformat(),
    },
    "instruction": {"given_on": (TODAY - timedelta(days=1)).isoformat(), "about_what": "Alarm"},
    "age": {"under_18": "yes"},
}
MANAGERS_PAGES = [
    ("person", []),
    ("appoint", []),
    ("appoint_mentor", []),
    ("paper", ["age"]),
    ("paper", ["instruction"]),
    ("paper", ["certificate"]),
]


@pytest.fixture
def cast(monkeypatch: pytest.MonkeyPatch) -> Cast:
    """The cast, at a workshop with two job types, two tasks and one kind of certificate."""
    for what, keys in (
        (offers.JOB_TYPES, ["A", "second person"]),
        (offers.TASKS, ["T1", "T2"]),
        (offers.CERTIFICATES, ["first aid and CPR"]),
    ):
        offered = [offers.Offer(key=key, title=f"About {key}", at_most_months=6) for key in keys]
        monkeypatch.setitem(offers._offerings, what, lambda _workshop, offered=offered: offered)
    return make_cast()


def url(name: str, person: Any, *more: Any) -> str:
    return reverse(f"people:{name}", args=[person.pk, *more])


def days(first: int = 0, last: int = 90) -> dict[str, str]:
    return {
        "from_day": (TODAY + timedelta(days=first)).isoformat(),
        "through_day": (TODAY + timedelta(days=last)).isoformat(),
    }


# ---------------------------------------------------------------- who may open what
@pytest.mark.parametrize(("name", "more"), MANAGERS_PAGES)
def test_a_managers_page_opens_for_a_manager_only_and_never_across_the_wall(
    cast: Cast, name: str, more: list[str]
) -> None:
    statuses = {
        who: signed_in(getattr(cast, who)).get(url(name, cast.technician, *more)).status_code
        for who in ("manager", "technician", "apprentice", "stranger", "foreign_manager")
    }
    assert statuses == {
        "manager": 200,
        "technician": 403,
        "apprentice": 403,
        "stranger": 403,
        "foreign_manager": 404,
    }


def test_the_stand_down_page_opens_for_everybody_of_the_group(cast: Cast) -> None:
    page = url("stand_down", cast.technician)
    assert [signed_in(who).get(page).status_code for who in (cast.apprentice, cast.technician, cast.manager)] == [
        200
    ] * 3
    assert signed_in(cast.stranger).get(page).status_code == 404
    assert signed_in(cast.stranger).post(page, {"reason": "no business of theirs"}).status_code == 404
    assert not Record.objects.exists()


def test_whoever_left_has_no_page(cast: Cast) -> None:
    cast.technician.is_active = False
    cast.technician.save()
    assert signed_in(cast.manager).get(url("person", cast.technician)).status_code == 404


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
@pytest.mark.parametrize(("name", "more"), [*MANAGERS_PAGES, ("stand_down", []), ("release", [1])])
def test_other_methods_are_refused(cast: Cast, name: str, more: list[Any], method: str) -> None:
    answer = getattr(signed_in(cast.manager), method)(url(name, cast.technician, *more))
    assert answer.status_code == 405


def test_reading_pages_take_no_post_and_confirming_no_get(cast: Cast) -> None:
    client = signed_in(cast.manager)
    posted = [client.post(reverse(f"people:{name}")).status_code for name in ("mine", "everyone")]
    assert posted == [405, 405]
    assert client.post(url("person", cast.technician)).status_code == 405
    assert client.get(url("confirm", cast.technician, 1)).status_code == 405


# ---------------------------------------------------------------- appointing
def test_a_manager_appoints_and_sees_it_on_the_persons_page(cast: Cast) -> None:
    client = signed_in(cast.manager)
    posted = {"job_types": ["A", "second person"], "reason": "Seen at work", **days()}
    answer = client.post(url("appoint", cast.technician), posted)
    assert answer["Location"] == url("person", cast.technician)
    page = client.get(answer["Location"]).content.decode()
    assert "Appointed for A, second person at" in page
    assert "Seen at work" in page
    assert papers(cast.technician).appointments[0].job_types == {"A", "second person"}


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"job_types": []}, "This field is required."),
        ({"job_types": ["Z"]}, "Z is not one of the available choices."),
        ({"reason": ""}, "This field is required."),
        ({"from_day": "soon"}, "Enter a valid date."),
        ({"through_day": "0001-01-01"}, "The last day comes before the first day."),
        ({"through_day": "9999-12-31"}, "It holds at most 6 months"),
        ({"through_day": ""}, "This field is required."),
    ],
)
def test_a_wrong_appointment_is_a_400_with_a_sentence_and_records_nothing(
    cast: Cast, changed: dict[str, Any], said: str
) -> None:
    posted = {"job_types": ["A"], "reason": "Seen", **days(), **changed}
    answer = signed_in(cast.manager).post(url("appoint", cast.technician), posted)
    assert (answer.status_code, said in answer.content.decode()) == (400, True)
    assert not Record.objects.exists()


def test_a_second_tap_is_refused_and_records_nothing_more(cast: Cast) -> None:
    client, posted = signed_in(cast.manager), {"job_types": ["A"], "reason": "Seen", **days()}
    client.post(url("appoint", cast.technician), posted)
    answer = client.post(url("appoint", cast.technician), posted)
    assert answer.status_code == 400
    assert "This is on record already, as record 1." in answer.content.decode()
    assert Record.objects.count() == 1


def test_a_manager_cannot_appoint_themselves_on_the_page_either(cast: Cast) -> None:
    posted = {"job_types": ["A"], "reason": "Seen", **days()}
    answer = signed_in(cast.manager).post(url("appoint", cast.manager), posted)
    assert (answer.status_code, Record.objects.count()) == (400, 0)
    assert "You may not enter this about yourself." in answer.content.decode()


def test_a_mentor_is_appointed(cast: Cast) -> None:
    posted = {"tasks": ["T2"], "reason": "Patient", **days()}
    signed_in(cast.manager).post(url("appoint_mentor", cast.technician), posted)
    assert papers(cast.technician).mentor_appointments[0].tasks == {"T2"}


def test_another_site_is_chosen_by_the_address_and_a_foreign_one_is_404(cast: Cast) -> None:
    client, page = signed_in(cast.manager), url("appoint", cast.technician)
    assert client.get(f"{page}?workshop={cast.workshop.slug}").status_code == 200
    assert client.get(f"{page}?workshop={cast.stranger.workshop.slug}").status_code == 404


def test_an_appointment_for_later_waits_on_the_page_and_the_day_alone_gives_nothing(cast: Cast) -> None:
    client = signed_in(cast.manager)
    client.post(url("appoint", cast.technician), {"job_types": ["A"], "reason": "From next month", **days(30)})
    assert "Waits to be put into force" in client.get(url("person", cast.technician)).content.decode()
    answer = client.post(url("confirm", cast.technician, 1))
    assert (answer.status_code, "Its first day is" in answer.content.decode()) == (400, True)
    assert papers(cast.technician).appointments[0].confirmed_on is None


# ---------------------------------------------------------------- certificates, instruction, age
@pytest.mark.parametrize("kind", list(PAPERS))
def test_a_manager_enters_a_paper(cast: Cast, kind: str) -> None:
    posted = {"workshop": cast.workshop.pk, **PAPERS[kind]}
    answer = signed_in(cast.manager).post(url("paper", cast.technician, kind), posted)
    assert answer["Location"] == url("person", cast.technician)
    found = papers(cast.technician)
    assert len([*found.certificates, *found.instructions, *found.ages]) == 1


@pytest.mark.parametrize(
    ("kind", "changed"),
    [
        ("certificate", {"certificate": "Wizardry"}),
        ("certificate", {"issuer": ""}),
        ("certificate", {"issued_on": "2026-02-30"}),
        ("certificate", {"issued_on": "9999-01-01"}),
        ("certificate", {"tasks": ["T99"]}),
        ("instruction", {"given_on": "0001-01-01"}),
        ("instruction", {"about_what": "x" * 501}),
        ("instruction", {"workshop": "0"}),
        ("age", {"under_18": "perhaps"}),
        ("age", {"under_18": ""}),
    ],
)
def test_a_wrong_paper_is_a_400_and_records_nothing(cast: Cast, kind: str, changed: dict[str, Any]) -> None:
    posted = {"workshop": cast.workshop.pk, **PAPERS[kind], **changed}
    answer = signed_in(cast.manager).post(url("paper", cast.technician, kind), posted)
    assert (answer.status_code, Record.objects.count()) == (400, 0)
    assert 'class="errorlist"' in answer.content.decode()


def test_an_instruction_at_a_foreign_workshop_is_refused(cast: Cast) -> None:
    posted = {**PAPERS["instruction"], "workshop": cast.stranger.workshop.pk}
    assert signed_in(cast.manager).post(url("paper", cast.technician, "instruction"), posted).status_code == 400


def test_a_paper_of_no_known_kind_is_404(cast: Cast) -> None:
    assert signed_in(cast.manager).get(url("paper", cast.technician, "tattoo")).status_code == 404


# ---------------------------------------------------------------- standing down and releasing
def stood_down(cast: Cast, **more: Any) -> Record:
    given = {"job_types": None, "reason": "Worked without a visor", "medical": False, "by": cast.apprentice}
    return standing_down.stand_down(person=cast.technician, at=timezone.now(), **(given | more))


def test_anyone_stands_anyone_down_and_it_counts_at_once(cast: Cast) -> None:
    answer = signed_in(cast.apprentice).post(
        url("stand_down", cast.technician), {"cause": "deviation seen", "reason": "No visor"}
    )
    assert answer["Location"] == reverse("people:everyone")
    assert papers(cast.technician).stand_downs[0].job_types is None


def test_a_stand_down_without_a_reason_is_a_400(cast: Cast) -> None:
    for reason in ("", "   "):
        posted = {"cause": "other", "reason": reason}
        answer = signed_in(cast.apprentice).post(url("stand_down", cast.technician), posted)
        assert (answer.status_code, "Say why in a few words." in answer.content.decode()) == (400, True)
    assert not Record.objects.exists()


def test_a_medical_stand_down_asks_for_no_reason(cast: Cast) -> None:
    client = signed_in(cast.technician)
    client.post(url("stand_down", cast.technician), {"cause": "medical", "job_types": ["A"]})
    assert papers(cast.technician).stand_downs[0].job_types == {"A"}
    assert "Not fit until released." in client.get(reverse("people:mine")).content.decode()


def test_a_reason_is_seen_by_the_person_by_whoever_entered_it_and_by_managers(cast: Cast) -> None:
    stood_down(cast)
    page = url("stand_down", cast.technician)
    colleague = PersonFactory(workshop=cast.workshop)
    seen = {
        who: "Worked without a visor" in signed_in(viewer).get(page).content.decode()
        for who, viewer in (
            ("person", cast.technician),
            ("entered it", cast.apprentice),
            ("manager", cast.manager),
            ("colleague", colleague),
        )
    }
    assert seen == {"person": True, "entered it": True, "manager": True, "colleague": False}
    assert "Stood down now" not in signed_in(colleague).get(page).content.decode()


def test_nobody_sees_a_medical_reason(cast: Cast) -> None:
    stood_down(cast, medical=True, reason="a secret of the body")
    for viewer, page in (
        (cast.manager, url("person", cast.technician)),
        (cast.manager, url("release", cast.technician, 1)),
        (cast.technician, reverse("people:mine")),
        (cast.apprentice, url("stand_down", cast.technician)),
    ):
        text = signed_in(viewer).get(page).content.decode()
        assert ("Not fit until released." in text, "secret" in text) == (True, False)


@pytest.fixture
def _seen_since(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fresh, "_judging", [seen_at_once])


def test_a_release_says_what_it_needs_and_waits_for_fresh_evidence(cast: Cast) -> None:
    record = stood_down(cast, incident=True)
    client, page = signed_in(cast.manager), url("release", cast.technician, record.number)
    text = client.get(page).content.decode()
    assert "2 releases are still to be given, by as many people" in text
    assert "A mentor observes a task, made alone, first." in text
    refused = client.post(page, {"reason": "Talked it through"})
    assert (refused.status_code, "Nothing was seen of" in refused.content.decode()) == (400, True)
    assert Record.objects.count() == 1


@pytest.mark.usefixtures("_seen_since")
def test_after_an_incident_the_first_release_asks_for_one_more(cast: Cast) -> None:
    page = url("release", cast.technician, stood_down(cast, incident=True).number)
    for who, said in ((cast.manager, "One more person has to release it."), (cast.other_manager, "Released.")):
        assert said in signed_in(who).post(page, {"reason": "Talked it through"}, follow=True).content.decode()


@pytest.mark.usefixtures("_seen_since")
def test_a_manager_releases_once(cast: Cast) -> None:
    record = stood_down(cast)
    client, page = signed_in(cast.manager), url("release", cast.technician, record.number)
    assert "Worked without a visor" in client.get(page).content.decode()
    assert client.post(page, {"reason": ""}).status_code == 400
    assert client.post(page, {"reason": "Talked it through"})["Location"] == url("person", cast.technician)
    again = client.post(page, {"reason": "Talked it through"})
    assert (again.status_code, "released already, by record 2" in again.content.decode()) == (400, True)
    assert Record.objects.count() == 2


@pytest.mark.usefixtures("_seen_since")
def test_a_medical_stand_down_is_released_without_a_reason(cast: Cast) -> None:
    record = stood_down(cast, medical=True)
    signed_in(cast.manager).post(url("release", cast.technician, record.number), {})
    assert papers(cast.technician).stand_downs[0].releases[0].record == 2


@pytest.mark.usefixtures("_seen_since")
def test_only_another_manager_releases(cast: Cast) -> None:
    record = standing_down.stand_down(
        person=cast.manager, job_types=None, reason="Tired", medical=False, by=cast.manager, at=timezone.now()
    )
    page = url("release", cast.manager, record.number)
    posted = {who: signed_in(getattr(cast, who)).post(page, {"reason": "Rested"}).status_code for who in (
        "technician", "foreign_manager", "manager", "other_manager",
    )}  # fmt: skip
    assert posted == {"technician": 403, "foreign_manager": 404, "manager": 400, "other_manager": 302}


def test_what_is_no_stand_down_cannot_be_released(cast: Cast) -> None:
    stood_down(cast)
    client = signed_in(cast.manager)
    assert client.get(url("release", cast.technician, 2)).status_code == 404
    assert client.get(url("release", cast.apprentice, 1)).status_code == 404


# ---------------------------------------------------------------- the written form
def test_the_written_form_says_what_is_allowed_and_what_is_not(cast: Cast) -> None:
    record = appoint(cast, vehicle_families=["Vans"], may_not=["opened packs"])
    page = url("appointment", cast.technician, record.number)
    for viewer in (cast.manager, cast.technician):
        text = signed_in(viewer).get(page).content.decode()
        for said in ("Written appointment", "About a person, not a vehicle", "Vans", "opened packs", "Signed by the"):
            assert said in text
    refused = [signed_in(one).get(page).status_code for one in (cast.apprentice, cast.foreign_manager)]
    assert refused == [403, 404]
    assert signed_in(cast.manager).get(url("appointment", cast.technician, 99)).status_code == 404


@pytest.mark.parametrize(("regime", "said"), [("US", "our default"), ("EU", "ArbSchG § 13"), ("UK", "good practice")])
def test_the_written_form_says_what_law_asks_where_the_workshop_is(cast: Cast, regime: str, said: str) -> None:
    Workshop.objects.filter(pk=cast.workshop.pk).update(regime=regime)
    text = signed_in(cast.manager).get(url("appointment", cast.technician, appoint(cast).number)).content.decode()
    assert said in text
    assert "Local codes and licensed practice decide." in text


def test_the_entry_of_an_instruction_says_how_often_somebody_under_18_is_instructed(cast: Cast) -> None:
    text = signed_in(cast.manager).get(url("paper", cast.technician, "instruction")).content.decode()
    assert "every half-year" in text


def test_the_form_of_a_withdrawn_appointment_says_so(cast: Cast) -> None:
    record = appoint(cast)
    actions.withdraw(
        person=cast.technician, record=record.number, from_day=TODAY, reason="Lapsed.", by=cast.manager,
        at=timezone.now(),
    )  # fmt: skip
    text = signed_in(cast.manager).get(url("appointment", cast.technician, record.number)).content.decode()
    assert "Withdrawn: void from" in text


# ---------------------------------------------------------------- lists
def test_everybody_of_the_group_is_listed_and_only_managers_get_to_the_papers(cast: Cast) -> None:
    page = signed_in(cast.apprentice).get(reverse("people:everyone")).content.decode()
    assert cast.technician.full_name in page
    assert cast.stranger.full_name not in page
    link = f'href="{url("person", cast.technician)}"'
    assert link not in page
    assert link in signed_in(cast.manager).get(reverse("people:everyone")).content.decode()


def test_ones_own_records_are_in_plain_words_and_nobody_elses_are_there(cast: Cast) -> None:
    actions.instruct(
        person=cast.technician, workshop=cast.workshop, given_on=TODAY - timedelta(days=1),
        about_what="Alarm and meeting point", by=cast.manager, at=timezone.now(),
    )  # fmt: skip
    page = signed_in(cast.technician).get(reverse("people:mine")).content.decode()
    assert f"Instructed at {cast.workshop.name} on" in page
    assert f"entered by {cast.manager.full_name}" in page
    assert (
        "Nothing is on record about you yet." in signed_in(cast.apprentice).get(reverse("people:mine")).content.decode()
    )


def test_older_records_are_a_page_further_and_an_odd_page_is_the_first(cast: Cast) -> None:
    for number in range(55):
        actions.enter_age(person=cast.technician, under_18=bool(number % 2), by=cast.manager, at=timezone.now())
    client, mine = signed_in(cast.technician), reverse("people:mine")
    first = client.get(mine).content.decode()
    assert ("Record 55 " in first, "Record 5 " in first, "?before=6" in first) == (True, False, True)
    older = client.get(f"{mine}?before=6").content.decode()
    assert ("Record 5 " in older, "Record 1 " in older, "Older records" in older) == (True, True, False)
    for odd in ("x", "-1", "9" * 40, "\u0666"):
        assert client.get(mine, {"before": odd}).status_code == 200


def test_what_a_person_writes_is_never_markup(cast: Cast) -> None:
    stood_down(cast, reason="<script>alert(1)</script>")
    page = signed_in(cast.manager).get(url("person", cast.technician)).content.decode()
    assert "&lt;script&gt;alert(1)" in page
    assert "<script>alert" not in page

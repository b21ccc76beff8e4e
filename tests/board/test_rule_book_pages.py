"""The pages of rule books: who reads what, changing a draft, the preview, and the second person."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import pytest
import yaml
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from tests.board.house import NOW, House, signed_in, two_job_types
from tests.board.test_rule_book_coming import CERTIFICATE, confirmed, looser, proposed, second, stricter
from tests.factories.people import RoleHeldFactory
from training.bank.rule_history import rules_of
from training.board.rules import drafts
from training.board.rules.difference import difference
from training.board.rules.forms import FORMS, GeneralForm, JobTypeForm
from training.board.rules.words import KINDS
from training.core.permission.reading import as_mapping, rule_book_from
from training.people.models import Person, RoleHeld
from training.records.models import Record

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 2)
Clock = Callable[[datetime], None]


@pytest.fixture(autouse=True)
def _stands_still(set_clock: Clock) -> None:
    set_clock(NOW + timedelta(minutes=1))


def url(house: House, name: str = "rules", *more: int) -> str:
    return reverse(f"board:{name}", args=[house.workshop.slug, *more])


def said(answer: Any) -> str:
    return str(answer.content.decode())


def draft(book: dict[str, Any] | None = None) -> str:
    return drafts.as_text(as_mapping(rule_book_from(book or two_job_types())))


def change(client: Client, house: House, do: str, **posted: Any) -> Any:
    return client.post(url(house, "change_rules"), {"draft": draft(), "do": do, **posted})


def carried(answer: HttpResponse) -> dict[str, Any]:
    """The draft in the page that was answered."""
    context: Any = answer.context  # type: ignore[attr-defined]
    return dict(json.loads(context["draft"]))


def job_form(key: str, **changed: Any) -> dict[str, Any]:
    """What the page of a job type posts when nothing in it is touched."""
    plain = json.loads(draft())
    job_type = drafts.job_type_in(plain, key)
    posted = {name: value for name, value in JobTypeForm.shown(job_type).items() if name in JobTypeForm.base_fields}
    for number, requirement in enumerate(job_type["requirements"], 1):
        shown = FORMS[drafts.kind_of(requirement)].shown(requirement)
        posted |= {f"{number}-{name}": value for name, value in shown.items()}
    filled = {name: value for name, value in posted.items() if value is not None and value is not False}
    return {"job_type": key, **filled, **changed}


def general_form(**changed: Any) -> dict[str, Any]:
    posted = {
        name: value for name, value in GeneralForm.shown(json.loads(draft())).items() if name in GeneralForm.base_fields
    }
    return {**{name: value for name, value in posted.items() if value is not None}, **changed}


PROPOSAL = {"from_day": TODAY.isoformat(), "reason": "A course is asked for."}

# ------------------------------------------------------------------------------------------------------- who reads what


def test_everybody_of_the_group_reads_the_book_in_force_in_plain_sentences(house: House) -> None:
    for person in (house.nina, house.mentor, house.manager):
        page = said(signed_in(person).get(url(house)))
        assert "Two job types" in page
        assert "Seen once at T1." in page
        assert "Law asks nothing here by name: our default." in page
        assert "Source: common practice, no source" in page


def test_another_group_sees_nothing(house: House) -> None:
    proposal = proposed(house, stricter())
    for person in (house.stranger, house.foreign_manager):
        for name in ("rules", "rules_history", "change_rules"):
            assert signed_in(person).get(url(house, name)).status_code in (403, 404)
        for name in ("rule_book", "rule_book_file"):
            assert signed_in(person).get(url(house, name, proposal.number)).status_code == 404
        for name in ("confirm_rules", "withdraw_rules"):
            assert signed_in(person).post(url(house, name, proposal.number)).status_code in (403, 404)
    assert signed_in(house.foreign_manager).post(url(house, "propose_rules"), {"draft": draft()}).status_code == 404


def test_what_is_proposed_is_seen_by_managers_auditors_and_whoever_may_confirm(house: House) -> None:
    proposal = proposed(house, stricter())
    address = url(house, "rule_book", proposal.number)
    assert signed_in(house.nina).get(address).status_code == 404
    assert signed_in(house.nina).get(url(house, "rules_history")).status_code == 403
    assert "Rule book 2" not in said(signed_in(house.nina).get(url(house)))
    RoleHeldFactory(person=house.mentor, role=RoleHeld.Role.AUDITOR)
    for person in (house.manager, house.mentor):
        page = said(signed_in(person).get(address))
        assert "Tina O." in page
        assert "loses" in page
        assert "Rule book 2" in said(signed_in(person).get(url(house, "rules_history")))
    assert "Confirm rule book 2" not in said(signed_in(house.mentor).get(address))


def test_a_checker_sees_and_confirms_where_there_is_one_manager(house: House) -> None:
    RoleHeldFactory(person=house.mentor, role=RoleHeld.Role.CHECKER)
    proposal = proposed(house, stricter(), from_day=TODAY)
    page = said(signed_in(house.mentor).get(url(house, "rule_book", proposal.number)))
    assert "Confirm rule book 2" in page
    assert signed_in(house.mentor).post(url(house, "confirm_rules", proposal.number)).status_code == 302
    standing = rules_of(house.workshop)
    assert standing.in_force is not None
    assert standing.in_force.confirmed_by == house.mentor.key


def test_a_book_that_comes_is_read_by_everybody_without_names(house: House) -> None:
    proposal = confirmed(house, stricter())
    page = said(signed_in(house.nina).get(url(house)))
    assert "Rule book 2, first day 9\u00a0Mar: confirmed, comes by date." in page
    page = said(signed_in(house.nina).get(url(house, "rule_book", proposal.number)))
    assert CERTIFICATE in page
    assert "Tina" not in page


def test_only_managers_open_the_page_that_changes_it(house: House) -> None:
    assert signed_in(house.manager).get(url(house, "change_rules")).status_code == 200
    for person in (house.nina, house.mentor):
        assert signed_in(person).get(url(house, "change_rules")).status_code == 403
        assert signed_in(person).post(url(house, "propose_rules"), {"draft": draft()}).status_code == 403


# ----------------------------------------------------------------------------------------------------- changing a draft


def test_figures_are_changed_in_a_form_and_the_sentence_follows(house: House) -> None:
    client = signed_in(house.manager)
    opened = change(client, house, "job:B")
    assert "Change B" in said(opened)
    taken = change(client, house, "take", **job_form("B", **{"4-valid_months": "12", "4-verify_months": "6"}))
    assert taken.status_code == 200
    certificate = drafts.job_type_in(carried(taken), "B")["requirements"][3]
    assert certificate["certificate"] == {"kind": "first aid and CPR", "valid_months": 12, "verify_months": 6}
    assert certificate["sentence"] == (
        "Has the outside certificate first aid and CPR: at most 12 months from issue; "
        "checked with its issuer every 6 months."
    )
    assert "at most 24 months from issue" in said(taken)
    assert Record.objects.filter(kind="bank.rule_book_proposed").count() == 0


def test_what_is_not_touched_stays_as_it_is(house: House) -> None:
    client = signed_in(house.manager)
    taken = [change(client, house, "take", **job_form(key)) for key in "AB"]
    for answer in [*taken, change(client, house, "general:take", **general_form())]:
        assert (answer.status_code, carried(answer)) == (200, json.loads(draft()))
        assert "Nothing differs." in said(answer)


def test_a_sentence_of_ones_own_is_kept(house: House) -> None:
    posted = job_form("A", **{"2-observations": "2", "2-sentence": "Twice, at the ramp.", "2-law": "Reg 16."})
    taken = carried(change(signed_in(house.manager), house, "take", **posted))
    sign_off = drafts.job_type_in(taken, "A")["requirements"][1]
    assert (sign_off["sentence"], sign_off["law"], sign_off["sign_off"]["observations"]) == (
        "Twice, at the ramp.", "Reg 16.", 2,
    )  # fmt: skip


def test_floors_are_written_in_100_and_topics_are_ticked(house: House) -> None:
    posted = job_form("A", **{"1-life_floor": "72.5", "1-topics": ["rescue", "PPE"], "1-topic_mean_floor": "50"})
    recall = drafts.job_type_in(carried(change(signed_in(house.manager), house, "take", **posted)), "A")
    asked = recall["requirements"][0]["recall"]
    assert (asked["life_floor"], asked["topic_mean_floor"], asked["topics"]) == (0.725, 0.5, ["rescue", "PPE"])


def test_title_sentence_and_what_a_start_of_work_asks_are_changed(house: House) -> None:
    posted = job_form("A", title="Move", says="Only move it.", cordon="on", kit=["gloves"], second_person="whole job")
    job_type = drafts.job_type_in(carried(change(signed_in(house.manager), house, "take", **posted)), "A")
    assert (job_type["title"], job_type["says"]) == ("Move", "Only move it.")
    assert job_type["at_start"]["cordon"]
    assert job_type["at_start"]["kit"] == ["gloves"]
    assert job_type["at_start"]["second_person"] == "whole job"


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_requirement_of_each_kind_is_added_and_taken_out_again(house: House, kind: str) -> None:
    client = signed_in(house.manager)
    added = change(client, house, "add", kind=kind, **job_form("B"))
    assert added.status_code == 200
    longer = carried(added)
    assert drafts.kind_of(drafts.job_type_in(longer, "B")["requirements"][-1]) == kind
    requirement = drafts.job_type_in(longer, "B")["requirements"][-1]
    assert requirement["sentence"]
    shown = {f"6-{name}": value for name, value in FORMS[kind].shown(requirement).items() if value is not None}
    posted = {**job_form("B"), **shown, "6-out": "on", "draft": drafts.as_text(longer), "do": "take"}
    taken = client.post(url(house, "change_rules"), posted)
    assert carried(taken) == json.loads(draft())


def test_a_figure_that_is_none_is_told_beside_its_field(house: House) -> None:
    answer = change(signed_in(house.manager), house, "take", **job_form("A", **{"2-observations": "many"}))
    assert answer.status_code == 400
    assert "Enter a whole number." in said(answer)
    answer = change(signed_in(house.manager), house, "take", **job_form("A", **{"2-mentors": "3"}))
    assert answer.status_code == 400
    assert "asks for more mentors or days than observations" in said(answer)


def test_the_general_part_is_changed(house: House) -> None:
    posted = general_form(note="Local codes decide.", calibration_months="6", share_of_others_answered="90")
    taken = carried(change(signed_in(house.manager), house, "general:take", **posted))
    assert (taken["note"], taken["house"]["calibration_months"]) == ("Local codes decide.", 6)
    assert taken["share_of_others_answered"] == 0.9


@pytest.mark.parametrize("how", ["pasted", "file", "json"])
def test_a_whole_book_is_pasted_or_handed_in(house: House, how: str) -> None:
    text = json.dumps(stricter()) if how == "json" else yaml.safe_dump(json.loads(json.dumps(stricter())))
    file = SimpleUploadedFile("book.yaml", text.encode())
    answer = change(signed_in(house.manager), house, "text", **({"file": file} if how == "file" else {"text": text}))
    assert answer.status_code == 200
    assert CERTIFICATE in said(answer)


@pytest.mark.parametrize("bad", ["", "job_types: [", "version: 1\ncolour: red", "\u0000"])
def test_a_bad_book_is_refused_with_its_faults_and_the_draft_stays(house: House, bad: str) -> None:
    answer = change(signed_in(house.manager), house, "text", text=bad)
    assert answer.status_code == 400
    assert carried(answer) == json.loads(draft())


def test_an_unknown_requirement_is_named_by_its_place(house: House) -> None:
    book = two_job_types()
    book["job_types"][1]["requirements"][0] = {"knows": "A", "sentence": "x", "source": "y"}
    answer = change(signed_in(house.manager), house, "text", text=json.dumps(book))
    assert "rule book, job_types 2 (B), requirements 1: unknown requirement &#x27;knows&#x27;" in said(answer)


def test_a_file_that_is_no_text_is_refused(house: House) -> None:
    answer = change(signed_in(house.manager), house, "text", file=SimpleUploadedFile("x", b"\xff\xfe"))
    assert answer.status_code == 400
    assert "not text in UTF-8" in said(answer)


@pytest.mark.parametrize(
    "posted", [{"draft": "{}"}, {"do": "job:Z"}, {"do": "take", "job_type": "Z"}, {"draft": "\u0000[", "do": "preview"}]
)
def test_a_draft_that_somebody_broke_is_refused(house: House, posted: dict[str, str]) -> None:
    answer = signed_in(house.manager).post(url(house, "change_rules"), {"draft": draft(), "do": "", **posted})
    assert answer.status_code == 400


# ------------------------------------------------------------------------------------- preview, two people, history


def test_the_preview_names_who_loses_and_how_it_reads_before_and_after(house: House) -> None:
    answer = change(signed_in(house.manager), house, "preview", draft=draft(stricter()), **PROPOSAL)
    page = said(answer)
    assert "Tina O." in page
    assert "may not take yet" in page
    (effect,) = answer.context["effects"]
    assert {(one.person.short_name, one.way) for one in effect.changes} >= {("Tina O.", "loses"), ("Rob H.", "loses")}
    assert rules_of(house.workshop).proposed == ()


def test_for_a_later_day_three_moments_are_told_apart(house: House) -> None:
    later = {"from_day": (TODAY + timedelta(days=7)).isoformat(), "reason": "Later."}
    answer = change(signed_in(house.manager), house, "preview", draft=draft(looser()), **later)
    at_once, by_itself, again = answer.context["effects"]
    assert at_once.changes == by_itself.changes == ()
    assert ("Rob H.", "gains") in {(one.person.short_name, one.way) for one in again.changes}
    answer = change(signed_in(house.manager), house, "preview", draft=draft(stricter()), **later)
    at_once, by_itself, again = answer.context["effects"]
    assert {one.way for one in at_once.changes} == {"ends earlier"}
    assert "loses" in {one.way for one in by_itself.changes}
    assert "gains" not in {one.way for one in (*by_itself.changes, *again.changes)}


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31", "2026-03-01", "soon", ""])
def test_a_first_day_that_is_none_is_refused_beside_its_field(house: House, day: str) -> None:
    for name in ("change_rules", "propose_rules"):
        posted = {"draft": draft(stricter()), "do": "preview", "reason": "x", "from_day": day}
        answer = signed_in(house.manager).post(url(house, name), posted)
        assert answer.status_code == 400
        assert answer.context["proposal"].errors["from_day"]
    assert rules_of(house.workshop).proposed == ()


def test_from_a_proposal_to_the_book_in_force_in_two_requests_by_two_people(house: House) -> None:
    first, other = signed_in(house.manager), signed_in(second(house))
    answer = first.post(url(house, "propose_rules"), {"draft": draft(stricter()), **PROPOSAL})
    (waiting,) = rules_of(house.workshop).proposed
    assert answer["Location"] == url(house, "rule_book", waiting.record)
    assert first.post(url(house, "confirm_rules", waiting.record)).status_code == 400
    assert rules_of(house.workshop).proposed == (waiting,)
    page = said(other.get(url(house, "rule_book", waiting.record)))
    assert "Confirm rule book 2" in page
    assert other.get(url(house, "confirm_rules", waiting.record)).status_code == 405
    assert other.post(url(house, "confirm_rules", waiting.record))["Location"] == url(house)
    assert "version 2" in said(signed_in(house.nina).get(url(house)))
    again = other.post(url(house, "confirm_rules", waiting.record))
    assert again.status_code == 400
    assert "does not wait for anything" in said(again)


def test_a_proposal_without_change_or_beside_another_is_refused_in_words(house: House) -> None:
    client = signed_in(house.manager)
    answer = client.post(url(house, "propose_rules"), {"draft": draft(), **PROPOSAL})
    assert answer.status_code == 400
    assert "Nothing in it differs from the rule book in force." in said(answer)
    proposed(house, stricter())
    answer = client.post(url(house, "propose_rules"), {"draft": draft(looser()), **PROPOSAL})
    assert "Rule book 2 is proposed already." in said(answer)


def test_a_proposal_is_withdrawn_with_a_reason(house: House) -> None:
    proposal, client = proposed(house, stricter()), signed_in(house.manager)
    assert client.post(url(house, "withdraw_rules", proposal.number), {"reason": ""}).status_code == 400
    assert client.post(url(house, "withdraw_rules", proposal.number), {"reason": "A slip."}).status_code == 302
    assert "never in force" in said(client.get(url(house, "rules_history")))


def test_the_history_names_who_and_when_and_each_version_shows_what_differed(house: House) -> None:
    proposal, client = confirmed(house, stricter(), from_day=TODAY), signed_in(house.manager)
    page = said(client.get(url(house, "rules_history")))
    assert "Written by Mona B." in page
    assert f"Confirmed by {second(house).short_name}" in page
    page = said(client.get(url(house, "rule_book", proposal.number)))
    assert "What differs from rule book 1" in page
    assert "New requirement" in page


def test_a_change_starts_from_the_newest_book_that_is_settled(house: House) -> None:
    confirmed(house, stricter())
    answer = signed_in(house.manager).get(url(house, "change_rules"))
    assert carried(answer)["version"] == 2


def test_a_workshop_without_a_rule_book_starts_from_its_regimes(house: House) -> None:
    client = signed_in(house.foreign_manager)
    assert "nobody is cleared" in said(client.get(reverse("board:rules", args=[house.foreign_manager.workshop.slug])))
    answer = client.get(reverse("board:change_rules", args=[house.foreign_manager.workshop.slug]))
    assert carried(answer)["title"] == "Starting rule book, Germany and EU"


def test_the_file_reads_back_to_the_same_book(house: House) -> None:
    (record,) = [one.record for one in rules_of(house.workshop).everything()]
    answer = signed_in(house.nina).get(url(house, "rule_book_file", record))
    assert rule_book_from(yaml.safe_load(answer.content)) == rule_book_from(two_job_types())


def test_the_menu_leads_to_it(house: House, person_of_menu: Person) -> None:
    assert url(house) in said(signed_in(person_of_menu).get(reverse("board:card")))


@pytest.fixture
def person_of_menu(house: House) -> Person:
    return house.nina


def test_the_differences_of_two_books_are_told_both_ways() -> None:
    before, after = rule_book_from(two_job_types()), rule_book_from(stricter())
    (added,) = difference(before, after, {})
    (taken,) = difference(after, before, {})
    assert (added.what, taken.what) == ("New requirement", "Requirement taken out")
    assert added.after == taken.before
    assert difference(before, before, {}) == []

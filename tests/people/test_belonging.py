"""Who belongs to the firm: roles given and taken, somebody new, and the last day of those who leave."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import DatabaseError
from django.test import Client
from django.urls import reverse

from tests.factories.people import PASSWORD, ManagerFactory, RoleHeldFactory
from tests.people.cast import AT, TODAY, Cast, appoint, make_cast, papers, signed_in
from training.people import joining, leaving, roles
from training.people.facts import LeavingDay, RoleChanged
from training.people.models import Person, RoleHeld
from training.people.queries import is_manager, papers_written, roles_of
from training.people.refusal import Refusal
from training.records.queries import facts_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]
TOMORROW, DAY = TODAY + timedelta(days=1), timedelta(days=1)


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture
def set_now(monkeypatch: pytest.MonkeyPatch) -> Callable[[datetime], None]:
    def to(now: datetime) -> None:
        monkeypatch.setattr("django.utils.timezone.now", lambda: now)

    to(AT)
    return to


def changes(person: Person) -> list[tuple[str, bool, str]]:
    rows = facts_of([RoleChanged], chain_id=person.group.chain_id, about=person.key)
    return [(row.fact.role, row.fact.held, row.fact.by) for row in rows if row.fact]


def post(viewer: Person, name: str, person: Person, **given: Any) -> Any:
    return signed_in(viewer).post(reverse(f"people:{name}", args=[person.pk]), {"password": PASSWORD, **given})


# ---------------------------------------------------------------- roles
def test_each_role_given_or_taken_is_a_record_that_says_by_whom(cast: Cast) -> None:
    person, by = cast.technician, cast.manager
    roles.set_roles(person=person, roles=["author", "checker"], by=by, at=AT)
    roles.set_roles(person=person, roles=["checker", "auditor"], by=by, at=AT)
    assert roles_of(person) == {"checker", "auditor"}
    assert changes(person) == [
        ("author", True, by.key), ("checker", True, by.key), ("auditor", True, by.key), ("author", False, by.key)
    ]  # fmt: skip


def test_a_role_may_come_back_and_what_is_so_already_writes_nothing(cast: Cast) -> None:
    for held in (["author"], [], ["author"]):
        roles.set_roles(person=cast.technician, roles=held, by=cast.manager, at=AT)
    with pytest.raises(Refusal, match="holds just these roles already"):
        roles.set_roles(person=cast.technician, roles=["author"], by=cast.manager, at=AT)
    assert len(changes(cast.technician)) == 3


@pytest.mark.parametrize("who", ["technician", "foreign_manager", "manager"])
def test_nobody_else_and_nobody_for_themselves_changes_roles(cast: Cast, who: str) -> None:
    person = cast.manager if who == "manager" else cast.apprentice
    with pytest.raises(Refusal):
        roles.set_roles(person=person, roles=["author"], by=getattr(cast, who), at=AT)
    assert changes(person) == []


def test_of_two_managers_who_take_each_others_role_one_stays(cast: Cast) -> None:
    first, second = cast.manager, cast.other_manager
    roles.set_roles(person=second, roles=[], by=first, at=AT)
    with pytest.raises(Refusal, match="Only a manager may enter this."):
        roles.set_roles(person=first, roles=[], by=second, at=AT)
    assert (is_manager(first), is_manager(second)) == (True, False)


def test_a_role_that_there_is_not_is_refused_whole(cast: Cast) -> None:
    with pytest.raises(Refusal, match="no such role"):
        roles.set_roles(person=cast.technician, roles=["author", "king"], by=cast.manager, at=AT)
    assert roles_of(cast.technician) == frozenset()


def test_a_taken_role_is_gone_on_the_next_page(cast: Cast) -> None:
    client = signed_in(cast.other_manager)
    page = reverse("people:person", args=[cast.technician.pk])
    assert client.get(page).status_code == 200
    assert post(cast.manager, "roles", cast.other_manager).status_code == 302
    assert client.get(page).status_code == 403


def test_the_page_wants_the_password_and_says_who_gave_what(cast: Cast) -> None:
    refused = post(cast.manager, "roles", cast.technician, roles=["author"], password="wrong")
    assert refused.status_code == 400
    assert "That is not your password. Nothing was recorded." in refused.content.decode()
    assert roles_of(cast.technician) == frozenset()
    assert post(cast.manager, "roles", cast.technician, roles=["author"]).status_code == 302
    page = signed_in(cast.manager).get(reverse("people:roles", args=[cast.technician.pk])).content.decode()
    assert "Role given: author." in page
    assert f"entered by {cast.manager.full_name}" in page


def test_guessing_the_password_there_waits(cast: Cast) -> None:
    tried = [post(cast.manager, "roles", cast.technician, roles=["author"], password="x") for _try in range(6)]
    assert "Too many tries." in tried[-1].content.decode()
    assert post(cast.manager, "roles", cast.technician, roles=["author"]).status_code == 400
    assert roles_of(cast.technician) == frozenset()


def test_ones_own_roles_can_be_read_and_not_changed(cast: Cast) -> None:
    page = signed_in(cast.manager).get(reverse("people:roles", args=[cast.manager.pk])).content.decode()
    assert "<li>manager</li>" in page
    assert 'name="roles"' not in page
    answer = post(cast.manager, "roles", cast.manager, roles=["auditor"])
    assert answer.status_code == 400
    assert roles_of(cast.manager) == {"manager"}


# ---------------------------------------------------------------- the last day
def leave(cast: Cast, person: Person, last_day: date | None, at: datetime = AT) -> Any:
    return leaving.enter_leaving_day(person=person, last_day=last_day, by=cast.manager, at=at)


def test_from_the_day_after_the_last_day_nobody_signs_in(cast: Cast, set_now: Callable[[datetime], None]) -> None:
    leave(cast, cast.technician, TODAY)
    set_now(AT + timedelta(hours=13))  # an hour before midnight at the workshop
    open_page = signed_in(cast.technician)
    assert open_page.get(reverse("people:mine")).status_code == 200
    set_now(AT + timedelta(hours=15))
    assert open_page.get(reverse("people:mine"))["Location"].startswith(reverse("people:sign_in"))
    given = {"username": cast.technician.username, "password": PASSWORD}
    answer = Client().post(reverse("people:sign_in"), given)
    assert answer.status_code == 400
    assert "_auth_user_id" not in answer.client.session


def test_the_day_is_that_of_the_workshop(cast: Cast) -> None:
    cast.workshop.zone = "Pacific/Auckland"
    cast.workshop.save()
    leave(cast, Person.objects.get(pk=cast.technician.pk), TODAY)
    midnight = datetime.fromisoformat("2026-03-03T00:00:00+13:00")
    assert leaving.close_left(at=midnight - timedelta(seconds=1)) == 0
    assert leaving.close_left(at=midnight) == 1


def test_where_it_cannot_be_kept_whoever_has_left_is_a_stranger_all_the_same(
    cast: Cast, set_now: Callable[[datetime], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(**_at: object) -> int:
        raise DatabaseError("disk full")

    leave(cast, cast.technician, TODAY)
    set_now(AT + DAY)
    client, colleague = signed_in(cast.technician), signed_in(cast.apprentice)
    monkeypatch.setattr("training.people.middleware.close_left", full)
    assert client.get(reverse("people:mine")).status_code == 302
    assert colleague.get(reverse("people:mine")).status_code == 200


def test_what_they_are_appointed_for_ends_that_day_as_known_since(cast: Cast) -> None:
    appoint(cast)
    (before,) = papers(cast.technician).appointments
    record = leave(cast, cast.technician, TOMORROW)
    (after,) = papers(cast.technician).appointments
    assert after.withdrawn_from == TOMORROW + DAY
    assert papers(cast.technician, record.number - 1).appointments == (before,)
    leave(cast, cast.technician, None)
    assert papers(cast.technician).appointments == (before,)


def test_a_day_that_is_over_already_holds_at_once_and_can_be_corrected(cast: Cast) -> None:
    leave(cast, cast.technician, TODAY - DAY)
    assert not Person.objects.get(pk=cast.technician.pk).is_active
    leave(cast, cast.technician, TODAY)
    found = Person.objects.get(pk=cast.technician.pk)
    assert (found.is_active, found.last_day) == (True, TODAY)
    said = [one.fact.last_day for one in papers_written(found) if isinstance(one.fact, LeavingDay)]
    assert said == [TODAY - DAY, TODAY]


@pytest.mark.parametrize("wrong", [date(1, 1, 1), date(9999, 12, 31), TODAY + timedelta(days=400), None])
def test_a_day_that_cannot_be_meant_is_refused(cast: Cast, wrong: date | None) -> None:
    with pytest.raises(Refusal):
        leave(cast, cast.technician, wrong)
    assert papers_written(cast.technician) == []


def test_somebody_has_to_be_manager_after_the_last_day(cast: Cast) -> None:
    leaving.enter_leaving_day(person=cast.manager, last_day=TOMORROW, by=cast.other_manager, at=AT)
    with pytest.raises(Refusal, match="there would be no manager"):
        leave(cast, cast.other_manager, TOMORROW)
    leave(cast, cast.other_manager, TODAY)
    third = ManagerFactory(workshop=cast.workshop)
    leave(cast, cast.other_manager, TOMORROW)
    assert RoleHeld.objects.filter(person=third).exists()


def test_nobody_enters_their_own_last_day_or_that_of_another_group(cast: Cast) -> None:
    for person, by in ((cast.manager, cast.manager), (cast.stranger, cast.manager), (cast.technician, cast.apprentice)):
        with pytest.raises(Refusal):
            leaving.enter_leaving_day(person=person, last_day=TODAY, by=by, at=AT)


def test_the_page_of_the_last_day(cast: Cast, set_now: Callable[[datetime], None]) -> None:
    assert post(cast.manager, "leaving", cast.technician, last_day="2026-03-01").status_code == 302
    assert not Person.objects.get(pk=cast.technician.pk).is_active
    page = signed_in(cast.manager).get(reverse("people:leaving", args=[cast.technician.pk])).content.decode()
    assert "Last day with the firm: 1 Mar 2026." in page
    assert post(cast.manager, "leaving", cast.technician, last_day="2026-03-01", stays="on").status_code == 400
    assert post(cast.manager, "leaving", cast.technician, last_day="").status_code == 400
    assert post(cast.manager, "leaving", cast.technician, last_day="", stays="on").status_code == 302
    assert Person.objects.get(pk=cast.technician.pk).is_active
    assert post(cast.foreign_manager, "leaving", cast.technician, last_day="2026-03-01").status_code == 404


# ---------------------------------------------------------------- somebody new
NEW = {
    "given_name": "Ada", "family_name": "Marek", "username": "ada", "tally": "77", "contract": "apprentice",
    "under_18": "yes",
}  # fmt: skip


def join(viewer: Person, **given: str) -> Any:
    return signed_in(viewer).post(reverse("people:join"), {**NEW, **given})


def test_somebody_new_is_entered_with_their_age_and_cannot_sign_in_yet(cast: Cast) -> None:
    assert join(cast.manager).status_code == 302
    ada = Person.objects.get(username="ada")
    assert (ada.full_name, ada.tally, ada.contract, ada.workshop) == ("Ada Marek", 77, "apprentice", cast.workshop)
    assert (ada.has_usable_password(), roles_of(ada)) == (False, frozenset())
    (age,) = papers(ada).ages
    assert age.under_18
    assert papers_written(ada)[0].fact.by == cast.manager.key  # type: ignore[union-attr]


@pytest.mark.parametrize(
    "wrong",
    [{"username": "a b"}, {"tally": "0"}, {"given_name": " "}, {"contract": "king"}, {"under_18": ""}, {"tally": "x"}],
)
def test_what_cannot_be_read_enters_nobody(cast: Cast, wrong: dict[str, str]) -> None:
    assert join(cast.manager, **wrong).status_code == 400
    assert not Person.objects.filter(tally=77).exists()


def test_a_name_or_number_that_is_taken_is_said_beside_its_field(cast: Cast) -> None:
    taken = join(cast.manager, username=cast.technician.username.upper()).content.decode()
    assert "This name to sign in with is taken." in taken
    assert "This tally number is taken." in join(cast.manager, tally=str(cast.technician.tally)).content.decode()
    assert not Person.objects.filter(given_name="Ada").exists()


def test_only_a_manager_of_the_group_enters_somebody(cast: Cast) -> None:
    assert join(cast.technician).status_code == 403
    with pytest.raises(Refusal):
        joining.enter_person(
            workshop=cast.workshop, by=cast.foreign_manager, at=AT, username="ada", given_name="A", family_name="M",
            tally=77, contract="office", under_18=False, works_towards=(),
        )  # fmt: skip


def test_the_number_offered_is_one_that_nobody_ever_had(cast: Cast) -> None:
    leave(cast, cast.apprentice, TODAY - DAY)
    highest = max(one.tally for one in Person.objects.filter(group=cast.workshop.group))
    assert joining.next_tally(cast.workshop.group_id) == highest + 1


def test_roles_given_before_there_were_records_of_them_can_be_taken(cast: Cast) -> None:
    RoleHeldFactory(person=cast.technician, role="author")
    roles.set_roles(person=cast.technician, roles=[], by=cast.manager, at=AT)
    assert changes(cast.technician) == [("author", False, cast.manager.key)]

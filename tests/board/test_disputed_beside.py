"""A gap whose proof is disputed says so, on the page of the cell, on one's own first page and about a past moment."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from tests.board.house import FIRST_AID, NOW, House, answer, observe, signed_in, stand_down, talk
from training.board.disputed import KINDS, PROVES, disputed_beside, disputed_now
from training.board.queries import decision_in, read_workshop
from training.board.voices import voice_of
from training.core.permission.decision import Ground
from training.people import actions, disputing, standing_down
from training.people.facts import AgeEntered, Appointed, CertificateSeen, Instructed
from training.people.models import Person
from training.records.models import Record
from training.records.queries import head_of
from training.signoff.facts import Observed

pytestmark = [pytest.mark.django_db, pytest.mark.db]
MINUTE = timedelta(minutes=1)
COUNTS_FOR_NOTHING = "It counts for nothing until that is decided."


def record_of(person: Person, kind: str) -> int:
    rows = Record.objects.filter(chain_id=person.group.chain_id, about=person.key, kind=kind)
    return rows.order_by("number").values_list("number", flat=True)[0]


def dispute(person: Person, record: int, minutes: int = 1) -> Record:
    return disputing.dispute(person=person, record=record, what="Not so.", at=NOW + minutes * MINUTE)


def beside(house: House, job_type: str, minutes: int = 5) -> dict[Ground, tuple[str, ...]]:
    at = NOW + minutes * MINUTE
    reading = read_workshop(house.workshop, read_at=at)
    decision = decision_in(reading, house.tina, job_type, at)
    said = disputed_beside(decision, disputed_now(reading, house.tina), voice_of(house.workshop, None, now=at))
    return {gap.ground: words for gap, words in zip(decision.gaps, said, strict=True) if words}


@pytest.mark.parametrize(
    ("kind", "job_type", "ground", "says"),
    [
        (Observed, "A", Ground.SIGN_OFF, "Observation of 12 Jan by Max R."),
        (Appointed, "B", Ground.APPOINTMENT, "Appointment of 5 Jan by Mona B."),
        (CertificateSeen, "B", Ground.CERTIFICATE, "Certificate of 5 Jan by Mona B."),
        (Instructed, "A", Ground.INSTRUCTION, "Instruction of 5 Jan by Mona B."),
        (AgeEntered, "A", Ground.AGE_UNKNOWN, "Entry of the age of 5 Jan by Mona B."),
    ],
)
def test_the_gap_names_the_disputed_record_and_no_other_gap_does(
    house: House, kind: type[Observed], job_type: str, ground: Ground, says: str
) -> None:
    number = record_of(house.tina, kind.kind)
    dispute(house.tina, number)
    said = f"{says} is disputed (record {number}). {COUNTS_FOR_NOTHING}"
    assert beside(house, job_type) == {ground: (said,)}


def test_what_is_settled_is_named_no_more_and_what_speaks_against_somebody_never(house: House) -> None:
    failed = observe(house, house.tina, "T1", at=NOW, passed=False)
    dispute(house.tina, failed.number)
    assert beside(house, "A") == {}


def test_an_answer_is_named_without_saying_which(house: House) -> None:
    number = record_of(house.tina, "drill.answered")
    dispute(house.tina, number)
    unsafe = answer(house, house.tina, house.questions[0], at=NOW + 2 * MINUTE, right=False)
    talked = talk(house, house.tina, unsafe, house.questions[0], at=NOW + 3 * MINUTE)
    dispute(house.tina, talked.number, 4)
    (answer_said, talk_said) = beside(house, "A")[Ground.UNSAFE_ANSWER]
    assert answer_said.startswith("An answer of 6 Jan is disputed")
    assert talk_said.startswith("Talk-through of 2 Mar by Max R. is disputed")
    assert "question-1" not in answer_said


def test_a_disputed_release_is_named_beside_the_stand_down(house: House) -> None:
    down = stand_down(house, house.tina, at=NOW)
    observe(house, house.tina, "T1", at=NOW + MINUTE)
    ended = standing_down.release(
        person=house.tina, record=down.number, reason="Seen.", by=house.manager, at=NOW + 2 * MINUTE
    )
    dispute(house.tina, ended.number, 3)
    assert beside(house, "A")[Ground.STOOD_DOWN][0].startswith("Release of 2 Mar by Mona B. is disputed")


def test_a_disputed_check_with_the_issuer_is_named_beside_its_certificate(house: House) -> None:
    certificate = record_of(house.tina, CertificateSeen.kind)
    checked = actions.verify_certificate(
        person=house.tina, record=certificate, how="Asked.", by=house.manager, at=NOW + MINUTE
    )
    dispute(house.tina, checked.number, 2)
    (one,) = disputed_now(read_workshop(house.workshop, read_at=NOW + 5 * MINUTE), house.tina)
    assert isinstance(one.of, CertificateSeen)
    assert one.of.certificate == FIRST_AID


def test_every_kind_that_may_prove_something_has_its_word() -> None:
    assert {shape.kind for shape in PROVES} <= set(KINDS)


def test_the_pages_say_it(house: House, set_clock: Callable[..., None]) -> None:
    before = head_of(house.chain_id).number
    dispute(house.tina, record_of(house.tina, Observed.kind), 0)
    cell = reverse("board:cell", args=[house.workshop.slug, house.tina.pk, "A"])

    def says(client: Client, address: str) -> bool:
        return COUNTS_FOR_NOTHING in unescape(client.get(address).content.decode())

    assert says(signed_in(house.manager), cell)
    assert says(signed_in(house.tina), cell)
    assert says(signed_in(house.tina), reverse("board:home"))
    past = reverse("board:past_answer", args=[house.workshop.slug, house.tina.pk, "A"])
    assert says(signed_in(house.manager), past)
    assert not says(signed_in(house.manager), f"{past}?known_at={before}")

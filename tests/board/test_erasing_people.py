"""What is erased of whom: nothing of people at work, answers first, evidence six years after leaving, names last."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.contrib.auth import authenticate
from django.core.management import call_command
from django.core.management.base import CommandError

from tests.board.house import NOW, House, answer
from training.board.actions import sweep
from training.board.gaps import gaps_words
from training.board.models import StoredClearance
from training.board.privacy.erasing import erase_person
from training.board.privacy.retention import ANSWERS, kept_of, left_on
from training.board.queries import board_of, decision_for
from training.board.voices import voice_of
from training.core.permission.decision import Decision, Ground, Mode
from training.people.models import Person
from training.records.actions import Refused
from training.records.facts import BodiesErased
from training.records.models import Body, Record
from training.records.queries import facts_of, head_of
from training.records.seal import first_bad_record

pytestmark = [pytest.mark.django_db, pytest.mark.db]
SOON, LATE = datetime(2026, 6, 1, 9, tzinfo=UTC), datetime(2032, 9, 1, 9, tzinfo=UTC)


def leave(person: Person) -> Person:
    Person.objects.filter(pk=person.pk).update(is_active=False)
    person.refresh_from_db()
    return person


def erase(person: Person, *kinds: str, at: datetime) -> Record:
    rows = kept_of(person, today=at.date())
    numbers = [row.number for row in rows if not kinds or row.kind in kinds]
    return erase_person(person=person, numbers=numbers, why="Asked for.", by="m" * 32, at=at)


def erased_gap_days(decision: Decision) -> list[object]:
    gaps = [gap for gap in decision.gaps if gap.ground is Ground.RECORD_UNREADABLE]
    return [dict(gap.facts).get("erased_on") for gap in gaps]


def manage(*words: str) -> str:
    out = StringIO()
    call_command("erase_bodies", *words, stdout=out)
    return out.getvalue()


def test_nothing_of_people_at_work_is_erased(house: House) -> None:
    assert left_on(house.tina) is None
    assert all("they have left" in row.held and not row.over for row in kept_of(house.tina, today=LATE.date()))
    with pytest.raises(Refused, match="has to stay: what this person may take is still worked out from it"):
        erase(house.tina, at=LATE)
    assert Body.objects.count() == Record.objects.count()


def test_of_whoever_has_left_the_answers_may_go_and_their_counts_stay(house: House) -> None:
    answer(house, house.tina, house.questions[0], at=NOW, right=False, act=False)
    evidence = erase(leave(house.tina), *ANSWERS, at=SOON)
    (said,) = facts_of([BodiesErased], chain_id=house.chain_id)
    assert said.fact is not None
    assert (said.number, said.about) == (evidence.number, house.tina.key)
    assert said.fact.counts == [
        ("drill.answered", 21), ("drill.answered: held back", 1), ("drill.answered: sound", 20)
    ]  # fmt: skip
    assert first_bad_record(house.chain_id) is None
    assert not Body.objects.filter(record__about=house.tina.key, record__kind__in=ANSWERS).exists()


def test_evidence_stays_for_six_years_after_leaving(house: House) -> None:
    tina = leave(house.tina)
    with pytest.raises(Refused, match=r"has to stay: kept for six years after leaving, for claims: through 2032-02-27"):
        erase(tina, at=SOON)
    assert Body.objects.count() == Record.objects.count()
    left = datetime(2027, 1, 1, tzinfo=UTC).date()
    assert all(row.held for row in kept_of(tina, today=LATE.date(), left=left) if row.kind not in ANSWERS)
    earlier = datetime(2020, 1, 1, tzinfo=UTC).date()
    assert kept_of(tina, today=SOON.date(), left=earlier) == kept_of(tina, today=SOON.date())


def test_in_the_end_the_name_goes_and_key_and_tally_stay(house: House) -> None:
    tina, key, tally = leave(house.tina), house.tina.key, house.tina.tally
    sweep(at=NOW)
    erase(tina, at=LATE)
    tina.refresh_from_db()
    assert (tina.key, tina.tally, tina.is_active) == (key, tally, False)
    assert "Tina" not in tina.full_name
    assert "Olsen" not in tina.full_name
    assert authenticate(username=tina.username, password="") is None
    assert not StoredClearance.objects.filter(person=tina).exists()
    assert first_bad_record(house.chain_id) is None


def test_an_erased_stand_down_clears_nobody_neither_now_nor_in_the_past(house: House) -> None:
    for person in (house.sam, house.tina):
        leave(person)
        erase(person, at=LATE)
        Person.objects.filter(pk=person.pk).update(is_active=True)
    moments = ((NOW, None), (NOW - timedelta(days=3), None), (LATE, None), (NOW, head_of(house.chain_id).number - 2))
    for at, known_at in moments:
        board = board_of(house.workshop, at=at, read_at=LATE, known_at=known_at)
        for person in (house.sam, house.tina):
            for decision in board[person.key].values():
                assert decision.mode is Mode.NOT_CLEARED
                assert "2032-09-01" in erased_gap_days(decision)


def test_a_question_about_the_past_says_that_its_records_were_erased(house: House) -> None:
    assert decision_for(house.tina, house.workshop, "A", NOW).mode is Mode.ALONE
    erase(leave(house.tina), *ANSWERS, at=SOON)
    Person.objects.filter(pk=house.tina.pk).update(is_active=True)
    decision = board_of(house.workshop, at=NOW, read_at=SOON)[house.tina.key]["A"]
    assert decision.mode is Mode.NOT_CLEARED
    voice = voice_of(house.workshop, None, now=SOON)
    said = [gap.now for gap in gaps_words(decision, voice)]
    assert "Erased on 1 Jun 2026: what was on record is no longer kept, so this cannot be answered." in said


def test_others_are_decided_as_before(house: House) -> None:
    before = board_of(house.workshop, at=SOON, read_at=SOON)
    erase(leave(house.sam), *ANSWERS, at=SOON)
    after = board_of(house.workshop, at=SOON, read_at=SOON)
    for person in (house.tina, house.rob, house.nina):
        for key, decision in after[person.key].items():
            was = before[person.key][key]
            assert (decision.mode, decision.until, decision.gaps) == (was.mode, was.until, was.gaps)


def test_the_command_lists_first_and_erases_only_when_told(house: House, set_clock: Callable[[datetime], None]) -> None:
    set_clock(SOON)
    tina = leave(house.tina)
    listed = manage("--person", tina.username)
    assert "20 of 26 records may be erased" in listed
    assert "drill.answered: 20" in listed
    assert "6 stay: kept for six years after leaving" in listed
    assert Body.objects.count() == Record.objects.count()
    with pytest.raises(CommandError, match="who erases and why"):
        manage("--person", str(tina.tally), "--group", tina.group.slug, "--yes")
    done = manage(
        "--person", tina.username, "--why", "Letter of 28 May.", "--by", "Mona", "--before", "2026-02-01", "--yes"
    )
    assert f"erased by record {head_of(house.chain_id).number}" in done
    assert "16 of" in done
    with pytest.raises(CommandError, match="Nobody"):
        manage("--person", "nobody")


def test_retention_takes_what_is_over_and_nothing_else(house: House, set_clock: Callable[[datetime], None]) -> None:
    leave(house.tina)
    set_clock(datetime(2028, 1, 31, 9, tzinfo=UTC))  # 24 months after the fourth of five days of answers
    assert "16 of 16 records may be erased" in manage("--retention", "--yes")
    assert "may be erased" not in manage("--retention", "--yes")
    set_clock(LATE)
    assert "10 of 10" in manage("--retention", "--yes")
    house.tina.refresh_from_db()
    assert house.tina.given_name == "Erased"
    assert first_bad_record(house.chain_id) is None

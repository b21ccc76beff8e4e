"""The short list of causes of a stand-down: what each implies, where words are needed, and who sees which."""

from __future__ import annotations

import io
import json
import zipfile
from typing import Any

import msgspec
import pytest

from tests.people.cast import Cast, later, make_cast, papers, signed_in, stand_down
from training.board.privacy.copying import copy_of
from training.people import queries
from training.people.causes import WORDS, Cause
from training.people.facts import StoodDown
from training.people.refusal import Refusal
from training.people.sentences import reason_for
from training.records.models import Body, Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def told(cast: Cast) -> StoodDown:
    (paper,) = queries.papers_written(cast.technician)
    assert isinstance(paper.fact, StoodDown)
    return paper.fact


def test_every_cause_is_said_in_words() -> None:
    assert set(WORDS) == set(Cause)


@pytest.mark.parametrize("cause", [one for one in Cause if one is not Cause.OTHER])
def test_a_cause_from_the_list_needs_no_words(cast: Cast, cause: Cause) -> None:
    stand_down(cast, cause=cause, reason="", medical=False)
    fact = told(cast)
    assert (fact.cause, fact.incident, fact.medical) == (cause, cause is Cause.INCIDENT, cause is Cause.MEDICAL)


@pytest.mark.parametrize("cause", [Cause.OTHER, ""])
def test_any_other_cause_needs_words(cast: Cast, cause: str) -> None:
    with pytest.raises(Refusal, match="Say why"):
        stand_down(cast, cause=cause, reason="  ")
    assert not Record.objects.exists()


def test_a_cause_that_is_not_on_the_list_is_refused(cast: Cast) -> None:
    with pytest.raises(Refusal, match="on the list"):
        stand_down(cast, cause="bad mood")
    assert not Record.objects.exists()


def test_an_incident_asks_for_two_people(cast: Cast) -> None:
    stand_down(cast, cause=Cause.INCIDENT, reason="")
    assert papers(cast.technician).stand_downs[0].incident is True


@pytest.mark.parametrize("given", [{"cause": Cause.MEDICAL}, {"cause": Cause.DEVIATION, "medical": True}])
def test_of_a_medical_one_neither_words_nor_another_cause_are_kept(cast: Cast, given: dict[str, Any]) -> None:
    stand_down(cast, reason="a secret of the body", **given)
    assert not Body.objects.filter(text__contains="secret").exists()
    assert (told(cast).cause, told(cast).medical) == (Cause.MEDICAL, True)


def test_whoever_sees_the_reason_sees_the_cause_and_nobody_else_does(cast: Cast) -> None:
    stand_down(cast, cause=Cause.FAILED, reason="Live-dead-live left out.")
    (paper,) = queries.papers_written(cast.technician)
    for viewer in (cast.technician, cast.apprentice, cast.manager):
        assert (
            reason_for(viewer, paper, manages=queries.is_manager(viewer))
            == "Failed a check or a demonstration. Live-dead-live left out."
        )
    assert reason_for(cast.stranger, paper, manages=False) == ""


def test_a_record_from_before_there_was_a_list_still_reads() -> None:
    old = b'{"job_types":null,"reason":"Cut corners.","medical":false,"by":"m"}'
    assert msgspec.json.decode(old, type=StoodDown).cause == ""


def test_the_page_offers_the_list_and_wants_one_chosen(cast: Cast) -> None:
    client, page = signed_in(cast.apprentice), f"/people/{cast.technician.pk}/stand-down/"
    text = client.get(page).content.decode()
    assert all(f'value="{cause.value}"' in text.replace("&#x27;", "'") for cause in Cause)
    assert client.post(page, {"reason": "No visor."}).status_code == 400
    assert client.post(page, {"cause": "own request"}).status_code == 302
    assert told(cast).cause == Cause.OWN_REQUEST


def test_the_copy_of_ones_records_holds_the_cause_and_of_a_medical_one_none(cast: Cast) -> None:
    stand_down(cast, cause=Cause.ABSENCE, reason="Four months.")
    stand_down(cast, cause=Cause.MEDICAL, reason="a secret of the body", at=later(1))
    with zipfile.ZipFile(io.BytesIO(copy_of(cast.technician, at=later(2)))) as file:
        said = [one["says"] for one in json.loads(file.read("records.json"))["records"]]
    assert [one.get("cause") for one in said] == [Cause.ABSENCE, None]
    assert [one.get("reason") for one in said] == ["Four months.", None]

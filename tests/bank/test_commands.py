"""The bank's commands: load, check and draw."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from tests.factories.people import WorkshopGroupFactory
from training.bank.models import QuestionVersion
from training.core.questions.kinds import Topic

DRAWN = (
    "topic: meters and proving\nworked_out:\n  - {id: chain, generator: meter_chain_weakest, review_by: 2027-11-30}\n"
)


def said_by(*words: Any, **options: Any) -> str:
    out = io.StringIO()
    call_command(*words, stdout=out, **options)
    return out.getvalue()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "meters.yaml").write_text(DRAWN, encoding="utf-8")
    return tmp_path


@pytest.mark.db
@pytest.mark.django_db
def test_a_bank_is_loaded_into_the_only_group(folder: Path) -> None:
    group = WorkshopGroupFactory()
    assert said_by("load_bank", folder).startswith("1 new, 0 changed, 0 as before.")
    assert QuestionVersion.objects.get().question.group == group


@pytest.mark.db
@pytest.mark.django_db
def test_with_several_groups_one_has_to_be_named(folder: Path) -> None:
    WorkshopGroupFactory(slug="north")
    WorkshopGroupFactory(slug="south")
    with pytest.raises(CommandError, match="north"):
        call_command("load_bank", folder)
    assert said_by("load_bank", folder, group="south").startswith("1 new")


@pytest.mark.db
@pytest.mark.django_db
def test_a_broken_file_ends_the_command_with_file_line_and_rule(folder: Path) -> None:
    WorkshopGroupFactory()
    (folder / "broken.yaml").write_text("topic: gardening\n", encoding="utf-8")
    with pytest.raises(CommandError, match=r"1 faults; nothing was loaded.\nbroken.yaml:1: S4 topic"):
        call_command("load_bank", folder)
    assert not QuestionVersion.objects.exists()


def test_check_bank_prints_counts_and_fails_on_errors(folder: Path) -> None:
    counts = json.loads(said_by("check_bank", folder, json=True))
    assert (counts["worked_out"], counts["errors"], counts["by_topic"]) == (1, 0, {"meters and proving": 1})
    (folder / "broken.yaml").write_text("topic: gardening\n", encoding="utf-8")
    with pytest.raises(CommandError, match="1 errors"):
        said_by("check_bank", folder)


def test_draw_question_prints_situation_question_and_worked_answer(folder: Path) -> None:
    first, again, other = (
        json.loads(said_by("draw_question", "chain", bank=folder, seed=seed, json=True)) for seed in (3, 3, 4)
    )
    assert first == again != other
    assert set(first) >= {"situation", "question", "options", "right", "answer", "sources", "picture_text"}
    assert set(first["right"]) < {option["key"] for option in first["options"]}
    assert "situation: " in said_by("draw_question", "meter_chain_weakest", bank=folder)


def test_an_unknown_question_is_named(folder: Path) -> None:
    with pytest.raises(CommandError, match="No question nowhere"):
        said_by("draw_question", "nowhere", bank=folder)


def test_the_demo_bank_has_no_errors_and_covers_every_topic() -> None:
    counts = json.loads(said_by("check_bank", settings.BASE_DIR / "fixtures_demo" / "bank", json=True))
    assert counts["errors"] == 0
    assert counts["fixed"] + counts["worked_out"] >= 60
    assert counts["worked_out"] >= 8
    assert set(counts["by_topic"]) == {topic.value for topic in Topic}

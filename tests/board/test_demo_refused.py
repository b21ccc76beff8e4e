"""Outside a demo nothing of it is loaded or named, and a faulty file loads nothing."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path
from shutil import copytree

import msgspec
import pytest
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.test import override_settings

from training.board.demo.loading import load_history
from training.people.models import WorkshopGroup

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@override_settings(DEMO=False, DEBUG=False)
@pytest.mark.parametrize("words", [[], ["--sign-ins", "--json"]])
def test_outside_a_demo_nothing_is_loaded_and_nobody_named(words: list[str]) -> None:
    said = io.StringIO()
    with pytest.raises(CommandError, match="public passwords"):
        call_command("load_demo", *words, stdout=said)
    assert said.getvalue() == ""
    assert not WorkshopGroup.objects.exists()


def test_an_unknown_field_is_refused_with_its_place_and_nothing_is_loaded(tmp_path: Path) -> None:
    copytree(Path(settings.BASE_DIR) / "fixtures_demo", tmp_path / "fixtures_demo")
    people = tmp_path / "fixtures_demo" / "people.yaml"
    people.write_text(people.read_text(encoding="utf-8").replace("tally: 21", "number: 21"), encoding="utf-8")
    with override_settings(BASE_DIR=tmp_path), pytest.raises(msgspec.ValidationError, match=r"people\[1\]"):
        load_history(at=datetime(2026, 11, 25, 14, 30, tzinfo=UTC))
    assert not WorkshopGroup.objects.exists()

"""Settings that would run, but not safely, are named before the first request."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from django.db import connections
from django.test import override_settings

from training.web.checks import database_place, doorbell, serious_run

GOOD = {"DEBUG": False, "DEMO": False, "ALLOWED_HOSTS": ["shop.example"], "SECRET_KEY": "k" * 50}


def test_safe_settings_pass() -> None:
    with override_settings(**GOOD):
        assert serious_run(None) == []


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"DEBUG": True}, "hookside.E001"),
        ({"DEMO": True}, "hookside.E002"),
        ({"ALLOWED_HOSTS": ["*"]}, "hookside.E003"),
        ({"SECRET_KEY": "short"}, "hookside.E004"),
    ],
)
def test_each_unsafe_setting_is_named_with_its_cure(wrong: dict[str, Any], code: str) -> None:
    with override_settings(**{**GOOD, **wrong}):
        found = serious_run(None)
    assert [message.id for message in found] == [code]
    assert found[0].hint


def test_a_database_in_a_missing_folder_that_locks_late_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    chosen = {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(tmp_path / "nowhere" / "x.sqlite3"),
        "OPTIONS": {},
    }
    monkeypatch.setattr(connections["default"], "settings_dict", chosen)
    assert [message.id for message in database_place(None)] == ["hookside.E005", "hookside.E006"]


def test_a_serious_run_without_redis_is_warned_of() -> None:
    with override_settings(DEBUG=False, AT_HOME=False, REDIS_URL=""):
        assert [message.id for message in doorbell(None)] == ["hookside.W001"]
    with override_settings(DEBUG=False, AT_HOME=False, REDIS_URL="redis://127.0.0.1:6379/0"):
        assert doorbell(None) == []

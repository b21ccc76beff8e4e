"""The database's shape is written down in migrations, and the clock's schedule names tasks that exist."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db.migrations.loader import MigrationLoader

from training.config.celery import app

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.django_db
def test_no_model_has_changed_without_a_migration() -> None:
    call_command("makemigrations", check=True, dry_run=True, verbosity=0)


def test_every_migration_has_a_name_that_says_what_it_does() -> None:
    ours = [
        name
        for label, name in MigrationLoader(None).disk_migrations
        if label in {path.parent.name for path in (ROOT / "training").glob("*/apps.py")}
    ]
    assert len(ours) >= 7
    assert [name for name in ours if not re.fullmatch(r"\d{4}_[a-z][a-z_0-9]+", name) or "_auto_" in name] == []
    assert [name for name in ours if name.endswith("_initial")] == []


def test_every_task_of_the_schedule_exists() -> None:
    app.loader.import_default_modules()
    missing = {entry["task"] for entry in app.conf.beat_schedule.values()} - set(app.tasks)
    assert missing == set()


def test_every_task_takes_keywords_only_and_bears_later_ones() -> None:
    """So that a worker of the former version survives a call of the next one."""
    app.loader.import_default_modules()
    ours = [task for task in app.tasks.values() if task.run.__module__.startswith("training.")]
    assert ours
    for task in ours:
        kinds = [parameter.kind for parameter in inspect.signature(task.run).parameters.values()]
        assert kinds, task.name
        assert kinds[-1] is inspect.Parameter.VAR_KEYWORD, task.name
        assert set(kinds[:-1]) <= {inspect.Parameter.KEYWORD_ONLY}, task.name

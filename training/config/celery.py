"""The task queue: Celery with its settings from Django, and what runs by the clock."""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "training.config.settings")

app = Celery("hookside")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()

# a task's own name is its module path; every entry must be safe to run twice
app.conf.beat_schedule = {
    "board.sweep_clearances": {"task": "training.board.tasks.sweep_clearances", "schedule": 30.0},
}

"""The task queue: Celery with its settings from Django, and what runs by the clock."""

from __future__ import annotations

import os

from celery import Celery
from celery.schedules import crontab
from celery.signals import worker_ready

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "training.config.settings")

app = Celery("hookside")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.autodiscover_tasks(["training.board.privacy"])

# every entry must be safe to run twice
app.conf.beat_schedule = {
    "board.sweep_clearances": {"task": "board.sweep_clearances", "schedule": 30.0},
    "records.verify_chains": {
        "task": "training.records.tasks.verify_chains",
        "schedule": crontab(minute="10"),
    },
    "board.watch_jobs": {"task": "board.watch_jobs", "schedule": 60.0},
    "board.replay_decisions": {"task": "board.replay_decisions", "schedule": crontab(hour="3", minute="40")},
    "board.list_due_erasures": {"task": "board.list_due_erasures", "schedule": crontab(hour="3", minute="55")},
    "records.sign_heads": {"task": "training.records.tasks.sign_heads", "schedule": crontab(hour="2", minute="20")},
    "drill.check_recall_caches": {"task": "drill.check_recall_caches", "schedule": crontab(hour="2", minute="40")},
    "drill.refold_behind": {"task": "drill.refold_behind", "schedule": 60.0},
    "drill.refit_parameters": {
        "task": "drill.refit_parameters",
        "schedule": crontab(day_of_week="sun", hour="3", minute="10"),
    },
}


@worker_ready.connect
def verify_at_start(**_ready: object) -> None:
    """Walk every chain as soon as a worker is there: a restore or a tampering must not wait for the hour."""
    app.send_task("training.records.tasks.verify_chains")

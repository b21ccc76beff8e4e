"""Settings, addresses and the task queue; loads the queue so that tasks find it."""

from training.config.celery import app as celery_app

__all__ = ["celery_app"]

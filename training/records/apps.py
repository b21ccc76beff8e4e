"""The app's name for Django."""

from django.apps import AppConfig


class RecordsConfig(AppConfig):
    name = "training.records"
    label = "records"
    default_auto_field = "django.db.models.BigAutoField"

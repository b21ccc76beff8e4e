"""The app's name for Django."""

from django.apps import AppConfig


class BoardConfig(AppConfig):
    name = "training.board"
    label = "board"
    default_auto_field = "django.db.models.BigAutoField"

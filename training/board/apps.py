"""The app's name for Django, with its facts made known to the records and said in words."""

from importlib import import_module

from django.apps import AppConfig


class BoardConfig(AppConfig):
    name = "training.board"
    label = "board"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Load the app's facts (a record of a kind that nobody knows blocks its person); say how they are told."""
        import_module("training.board.facts")
        import_module("training.board.sayings").say_all()

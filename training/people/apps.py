"""The app's name for Django, and its facts made known to the records."""

from importlib import import_module

from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "training.people"
    label = "people"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Load the app's facts: a record of a kind that nobody here knows blocks the person it is about."""
        import_module("training.people.facts")

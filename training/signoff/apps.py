"""The app's name for Django, with its facts made known to the records and said in words."""

from importlib import import_module

from django.apps import AppConfig


class SignoffConfig(AppConfig):
    name = "training.signoff"
    label = "signoff"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Load the app's facts (a record of a kind that nobody knows blocks its person); say how they are told."""
        import_module("training.signoff.facts")
        import_module("training.signoff.sayings").say_all()
        import_module("training.people.fresh").provide(import_module("training.signoff.queries").stand_downs_judged)

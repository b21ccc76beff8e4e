"""The app's name for Django, with its facts made known to the records and its offers to the forms."""

from importlib import import_module

from django.apps import AppConfig


class BankConfig(AppConfig):
    name = "training.bank"
    label = "bank"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Load the app's facts (a record of a kind that nobody knows blocks its person); say what forms may offer."""
        import_module("training.bank.facts")
        import_module("training.bank.offering").offer_all()
        import_module("training.bank.sayings").say_all()

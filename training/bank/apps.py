"""The app's name for Django."""

from django.apps import AppConfig


class BankConfig(AppConfig):
    name = "training.bank"
    label = "bank"
    default_auto_field = "django.db.models.BigAutoField"

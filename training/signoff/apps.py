"""The app's name for Django."""

from django.apps import AppConfig


class SignoffConfig(AppConfig):
    name = "training.signoff"
    label = "signoff"
    default_auto_field = "django.db.models.BigAutoField"

"""The app's name for Django."""

from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "training.people"
    label = "people"
    default_auto_field = "django.db.models.BigAutoField"

"""The app's name for Django."""

from django.apps import AppConfig


class DrillConfig(AppConfig):
    name = "training.drill"
    label = "drill"
    default_auto_field = "django.db.models.BigAutoField"

"""The app's name for Django."""

from django.apps import AppConfig


class EquipmentConfig(AppConfig):
    name = "training.equipment"
    label = "equipment"
    default_auto_field = "django.db.models.BigAutoField"

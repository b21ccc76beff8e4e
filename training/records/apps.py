"""The app's name for Django; gathers all apps' facts, so that an unknown kind of record is seen to be unknown."""

from django.apps import AppConfig
from django.utils.module_loading import autodiscover_modules


class RecordsConfig(AppConfig):
    name = "training.records"
    label = "records"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        autodiscover_modules("facts")

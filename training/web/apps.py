"""The app's name for Django; registers the system checks."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    name = "training.web"
    label = "web"

    def ready(self) -> None:
        from training.web import checks  # noqa: F401  registers on import

"""System checks: settings that would run, but not safely."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connections


@register(Tags.security, deploy=True)
def serious_run(app_configs: Sequence[AppConfig] | None, **_later: Any) -> list[CheckMessage]:
    """Refuse what is meant for one machine only: debug pages, demo people, a short secret, any host."""
    wrongs = (
        (settings.DEBUG, "HOOKSIDE_DEBUG is on.", "Unset it: debug pages show settings to strangers."),
        (getattr(settings, "DEMO", False), "HOOKSIDE_DEMO is on.", "Unset it: the demo's sign-ins are public."),
        ("*" in settings.ALLOWED_HOSTS, "HOOKSIDE_HOSTS holds *.", "Name the hosts, separated by commas."),
        (len(settings.SECRET_KEY) < 32, "HOOKSIDE_SECRET_KEY is shorter than 32 characters.", "Make a new one."),
    )
    return [
        Error(what, hint=cure, id=f"hookside.E00{number}")
        for number, (wrong, what, cure) in enumerate(wrongs, 1)
        if wrong
    ]


@register(Tags.security, deploy=True)
def heads_outside(app_configs: Sequence[AppConfig] | None, **_later: Any) -> list[CheckMessage]:
    """Warn where nothing outside the database would show a restore, or a chain cut short or written anew."""
    if settings.HEADS_DIR is not None and settings.SIGNING_KEY is not None:
        return []
    hint = "Set HOOKSIDE_HEADS_DIR to a folder on other storage, and HOOKSIDE_SIGNING_KEY (manage.py make_signing_key)."
    return [Warning("No signed heads are kept outside the database.", hint=hint, id="hookside.W002")]


@register(Tags.database)
def database_place(app_configs: Sequence[AppConfig] | None, **_later: Any) -> list[CheckMessage]:
    """Say before the first query where the database's folder should be, and how writers must lock."""
    found: list[CheckMessage] = []
    for alias in connections:
        chosen = connections[alias].settings_dict
        if not chosen["ENGINE"].endswith("sqlite3"):
            continue
        folder = Path(str(chosen["NAME"])).parent
        if ":memory:" not in str(chosen["NAME"]) and not folder.is_dir():
            hint = "Make it, or set HOOKSIDE_DATA_DIR or HOOKSIDE_DATABASE_URL."
            found.append(Error(f"The database's folder {folder} does not exist.", hint=hint, id="hookside.E005"))
        if chosen["OPTIONS"].get("transaction_mode") != "IMMEDIATE":
            hint = "Set transaction_mode to IMMEDIATE, else two writers can both read before either writes."
            found.append(Error("SQLite does not lock when a transaction begins.", hint=hint, id="hookside.E006"))
    return found


@register(Tags.caches)
def doorbell(app_configs: Sequence[AppConfig] | None, **_later: Any) -> list[CheckMessage]:
    """Warn when a serious run has no Redis: then only `manage.py work` does the due work."""
    if settings.DEBUG or getattr(settings, "AT_HOME", False) or settings.REDIS_URL:
        return []
    hint = "Set HOOKSIDE_REDIS_URL and start workers, or keep `manage.py work` running beside the web server."
    return [Warning("HOOKSIDE_REDIS_URL is not set.", hint=hint, id="hookside.W001")]

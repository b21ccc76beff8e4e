"""What every test may use: Hypothesis profiles, the append-only tables emptied, real services."""

from __future__ import annotations

import os
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

pytest_plugins = ["tests.services.fixtures"]

SLOW_IS_FINE = [HealthCheck.too_slow, HealthCheck.data_too_large]
settings.register_profile("suite", max_examples=500, deadline=None, print_blob=True, suppress_health_check=SLOW_IS_FINE)
settings.register_profile("deep", parent=settings.get_profile("suite"), max_examples=10_000)
settings.register_profile("quick", parent=settings.get_profile("suite"), max_examples=30)
settings.load_profile("suite")


@pytest.hookimpl(trylast=True)
def pytest_configure(config: pytest.Config) -> None:
    """Let Playwright's own loop and Django's queries share the thread of a journey."""
    os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
    _let_test_databases_be_emptied()


def pytest_report_header(config: pytest.Config) -> str:
    """Name the database and the number of examples, so that a log says what it proves."""
    from django.conf import settings as django_settings

    address = django_settings.TEST_DATABASE_URL.partition(":")[0] or "sqlite in memory"
    return f"database: {address}; hypothesis: {settings().max_examples} examples a law"


def _let_test_databases_be_emptied() -> None:
    """Take the append-only triggers away while a transactional test's tables are emptied, and only then."""
    from django.db import connection
    from django.test import TransactionTestCase

    plain: Any = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]

    def emptied(self: TransactionTestCase) -> None:
        from training.records.triggers import away

        with away(connection):
            plain(self)

    TransactionTestCase._fixture_teardown = emptied  # type: ignore[attr-defined]

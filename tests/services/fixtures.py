"""Fixtures for real parts: a Celery worker over Redis, and Chromium as a phone or a desk."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

import pytest

from tests.services.servers import celery_worker, chromium_binary, redis

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--no-first-run",
]
PHONE = {"viewport": {"width": 360, "height": 740}, "device_scale_factor": 2, "is_mobile": True, "has_touch": True}
DESK = {"viewport": {"width": 1280, "height": 800}}


# ---------------------------------------------------------------- Redis and Celery
@pytest.fixture(scope="session")
def redis_address() -> Iterator[str]:
    """The address of a real Redis server that lives as long as the run."""
    with redis() as address:
        yield address


@pytest.fixture(scope="session")
def worker_process(django_db_setup: None, redis_address: str) -> Iterator[None]:
    """A real Celery worker on the test database, one for the run."""
    from django.conf import settings
    from django.db import connection

    if not settings.TEST_DATABASE_URL:
        pytest.fail("a worker cannot open a database in memory; run make test, or set HOOKSIDE_TEST_DATABASE_URL")
    environ = {
        "HOOKSIDE_DEMO": "1",
        "HOOKSIDE_SECRET_KEY": settings.SECRET_KEY,
        "HOOKSIDE_REDIS_URL": redis_address,
        "HOOKSIDE_DATABASE_URL": database_address(connection.settings_dict),
    }
    with celery_worker(environ):
        yield


@pytest.fixture
def worker(transactional_db: None, worker_process: None, redis_address: str) -> Iterator[Callable[..., Any]]:
    """Send the tasks of this test over Redis to the worker; `worker(name, **arguments)` waits for one task's answer."""
    from celery import Celery

    from training.config.celery import app

    sender = Celery("sender", broker=redis_address, backend=redis_address, set_as_current=False)

    def send(name: str, **arguments: Any) -> Any:
        return sender.send_task(name, kwargs=arguments, ignore_result=False).get(timeout=30)

    before = {"broker_url": app.conf.broker_url, "task_always_eager": app.conf.task_always_eager}
    _switch(app, {"broker_url": redis_address, "task_always_eager": False})
    yield send
    sender.close()
    _switch(app, before)


def database_address(chosen: dict[str, Any]) -> str:
    """Return the address of an open test database, for a process of its own."""
    if chosen["ENGINE"].endswith("sqlite3"):
        return f"sqlite:///{chosen['NAME']}"
    place = f"?host={chosen['HOST']}" if str(chosen["HOST"]).startswith("/") else ""
    host = "" if place else f"{chosen['HOST']}:{chosen['PORT'] or 5432}"
    return f"postgresql://{chosen['USER']}@{host}/{chosen['NAME']}{place}"


def _switch(app: Any, to: dict[str, Any]) -> None:
    app.conf.update(to)
    app._pool = None  # a pool opened for the former broker would keep sending there
    app.amqp._producer_pool = None


# ---------------------------------------------------------------- Chromium
@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """Debian's Chromium without a window, one for the run."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_binary(), args=QUIET)
        yield browser
        browser.close()


@pytest.fixture
def new_page(chromium: Browser, live_server: Any) -> Iterator[Callable[..., Page]]:
    """Open a page of the live server in a context of its own; a script or policy error on it fails the test."""
    contexts: list[BrowserContext] = []
    errors: list[str] = []

    def open_page(**options: Any) -> Page:
        context = chromium.new_context(base_url=live_server.url, **{**PHONE, **options})
        context.set_default_timeout(10_000)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", lambda said: errors.append(said.text) if "Content Security Policy" in said.text else None)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not errors, "the browser reported: " + "; ".join(errors)


@pytest.fixture
def phone(new_page: Callable[..., Page]) -> Page:
    """A phone of 360 x 740 with touch."""
    return new_page()


@pytest.fixture
def desk(new_page: Callable[..., Page]) -> Page:
    """A desk screen of 1280 x 800."""
    return new_page(**{"device_scale_factor": 1, "is_mobile": False, "has_touch": False, **DESK})

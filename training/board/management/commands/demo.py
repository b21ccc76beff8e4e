"""Runs the demo on this machine: database, invented people, web server and the due work beside it."""

from __future__ import annotations

import http.cookiejar
import io
import json
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, NoReturn

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connections
from django.urls import reverse

START_S = 60
TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')
TITLE = re.compile(r"<title>\s*(.*?)\s*</title>", re.S)


class Command(BaseCommand):
    """`manage.py demo [--port N] [--fresh] [--check]`."""

    help = __doc__
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--port", type=int, default=8000, help="port on 127.0.0.1 (8000)")
        parser.add_argument("--fresh", action="store_true", help="throw away what was done and load the people anew")
        parser.add_argument("--check", action="store_true", help="fetch each role's first page on a free port and stop")

    def handle(self, *, port: int, fresh: bool, check: bool, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError(
                "The demo's sign-ins are public: it runs only with HOOKSIDE_DEMO=1, as make demo sets it."
            )
        port = _free_port() if check else port
        if not check and _listens(port):
            raise CommandError(f"Port {port} is taken. Take another: make demo PORT={port + 1}")
        self.prepare(settings.DATA_DIR, fresh=fresh)
        sign_ins = _sign_ins()
        connections.close_all()
        with suppress(KeyboardInterrupt), _serving(port) as (address, processes):
            if check:
                self.fetch_pages(address, sign_ins)
                return
            self.say_who(address, sign_ins)
            _until_stopped(processes)

    def prepare(self, folder: Path, *, fresh: bool) -> None:
        """Bring the database up to date, and load the invented people where that was not finished before."""
        loaded = folder / "loaded"
        if fresh or not loaded.exists():
            loaded.unlink(missing_ok=True)
            _remove_database()
        call_command("migrate", interactive=False, verbosity=0)
        if not loaded.exists():
            self.stdout.write("loading the demo's people and their months of history ...")
            self.stdout.flush()
            call_command("load_demo", stdout=self.stdout)
            loaded.write_text("load_demo ended well\n", encoding="utf-8")

    def say_who(self, address: str, sign_ins: list[dict[str, str]]) -> None:
        """Print the address and one sign-in per role."""
        self.stdout.write(f"\nHookside demo: {address}/   (stop with Ctrl-C)\n\n")
        self.stdout.write(f"  {'role':<12} {'sign-in name':<18} password\n")
        for one in sign_ins:
            self.stdout.write(f"  {one['role']:<12} {one['username']:<18} {one['password']}\n")
        self.stdout.write(
            "\nAll people, kit and history are invented. Training aid: the maker's procedure comes first.\n"
        )
        self.stdout.flush()

    def fetch_pages(self, address: str, sign_ins: list[dict[str, str]]) -> None:
        """Fetch each role's first page signed in; raise CommandError naming every one that failed."""
        wrong = []
        for one in sign_ins:
            place, said = _first_page(address, one)
            self.stdout.write(f"  {one['role']:<12} {place}: {said}")
            if not place.startswith("/") or place.startswith(reverse("people:sign_in")):
                wrong.append(one["role"])
        if wrong or not sign_ins:
            raise CommandError(f"No first page for: {', '.join(wrong) or 'anybody, since nobody may sign in'}")
        self.stdout.write(self.style.SUCCESS("demo-check: every role has its first page"))


def _sign_ins() -> list[dict[str, str]]:
    said = io.StringIO()
    call_command("load_demo", "--sign-ins", "--json", stdout=said)
    found: list[dict[str, str]] = json.loads(said.getvalue())
    return found


def _remove_database() -> None:
    chosen = settings.DATABASES["default"]
    if not chosen["ENGINE"].endswith("sqlite3"):
        raise CommandError("The demo makes and removes its own SQLite file; unset HOOKSIDE_DATABASE_URL.")
    connections.close_all()
    for ending in ("", "-wal", "-shm"):
        Path(f"{chosen['NAME']}{ending}").unlink(missing_ok=True)


@contextmanager
def _serving(port: int) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """Run the web server and the due work; end both, and only them."""
    address = f"http://127.0.0.1:{port}"
    web = [sys.executable, "-m", "gunicorn", "training.config.wsgi", "--bind", f"127.0.0.1:{port}"]
    web += ["--threads", "4", "--log-level", "warning", "--no-control-socket"]
    work = [sys.executable, "manage.py", "work"]
    processes: list[subprocess.Popen[bytes]] = []
    signal.signal(signal.SIGTERM, _stop_here)
    try:
        for command in (web, work):
            processes.append(subprocess.Popen(command, cwd=settings.BASE_DIR))
        _wait_for(address, processes)
        yield address, processes
    finally:
        for process in processes:
            process.terminate()
        for process in processes:
            try:
                process.wait(10)
            except subprocess.TimeoutExpired:
                process.kill()


def _stop_here(*_signal: object) -> NoReturn:
    raise KeyboardInterrupt


def _wait_for(address: str, processes: list[subprocess.Popen[bytes]]) -> None:
    end = time.monotonic() + START_S
    while time.monotonic() < end:
        _all_run(processes)
        try:
            with urllib.request.urlopen(f"{address}/health/", timeout=2):
                return
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)
    raise CommandError(f"The web server did not answer within {START_S} s.")


def _until_stopped(processes: list[subprocess.Popen[bytes]]) -> None:
    while True:
        _all_run(processes)
        time.sleep(0.5)


def _all_run(processes: list[subprocess.Popen[bytes]]) -> None:
    for process in processes:
        if process.poll() is not None:
            raise CommandError(f"{process.args!r} ended with {process.returncode}; its last words stand above.")


def _first_page(address: str, one: dict[str, str]) -> tuple[str, str]:
    """Sign in as a browser without script would; return the path arrived at and its title, or what went wrong."""
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))
    try:
        with opener.open(address + reverse("people:sign_in"), timeout=30) as answer:
            token = TOKEN.search(answer.read().decode())
        form = {
            "username": one["username"],
            "password": one["password"],
            "csrfmiddlewaretoken": token[1] if token else "",
        }
        with opener.open(answer.url, urllib.parse.urlencode(form).encode(), timeout=30) as answer:
            title = TITLE.search(answer.read().decode())
            return urllib.parse.urlsplit(answer.url).path, title[1] if title else "no title"
    except urllib.error.HTTPError as error:
        return f"{error.code}", error.url
    except (urllib.error.URLError, OSError) as error:
        return "no answer", str(error)


def _listens(port: int) -> bool:
    with socket.socket() as probe:
        probe.settimeout(0.5)
        return probe.connect_ex(("127.0.0.1", port)) == 0


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port

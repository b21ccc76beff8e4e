"""Real Redis, PostgreSQL, gunicorn and Celery for the tests, each alone in a temporary folder."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import sys
import tempfile
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from tests.services.parts import chromium_binary, postgres_folder, redis_binary
from tests.services.processes import DidNotStart, free_port, listens, running

__all__ = ["celery_worker", "chromium_binary", "postgres", "redis", "web_server"]


@contextmanager
def _folder(name: str) -> Iterator[Path]:
    path = Path(tempfile.mkdtemp(prefix=f"hookside-{name}-"))
    try:
        yield path
    finally:
        shutil.rmtree(path, ignore_errors=True)


@contextmanager
def redis() -> Iterator[str]:
    """Run Redis, keeping nothing on disk; yield its address."""
    port = free_port()
    with _folder("redis") as folder:
        command = [redis_binary(), "--port", str(port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no"]
        with running("redis", command, folder=folder, cwd=folder, ready=lambda: listens(port)):
            yield f"redis://127.0.0.1:{port}/0"


@contextmanager
def postgres() -> Iterator[str]:
    """Run PostgreSQL on a unix socket, as its own user where we are root; yield a database address."""
    programs = postgres_folder()
    user = "postgres" if os.geteuid() == 0 else None
    with _folder("postgres") as folder:
        if user:
            who = pwd.getpwnam(user)
            os.chown(folder, who.pw_uid, who.pw_gid)
        _make_cluster(programs, folder, user)
        command = [str(programs / "postgres"), "-D", str(folder / "cluster"), "-k", str(folder)]
        for option in (
            "listen_addresses=",
            "fsync=off",
            "synchronous_commit=off",
            "full_page_writes=off",
            "log_statement=none",
        ):
            command += ["-c", option]

        def ready() -> bool:
            probe = [str(programs / "pg_isready"), "-q", "-h", str(folder), "-U", "hookside", "-d", "postgres"]
            return subprocess.run(probe, check=False).returncode == 0

        with running("postgres", command, folder=folder, cwd=folder, ready=ready, user=user, stop_with=signal.SIGINT):
            yield f"postgresql://hookside@/postgres?host={folder}"


def _make_cluster(programs: Path, folder: Path, user: str | None) -> None:
    command = [str(programs / "initdb"), "-D", str(folder / "cluster"), "-U", "hookside", "-A", "trust", "-E", "UTF8"]
    command += ["--locale=C.UTF-8", "--no-sync"]
    made = subprocess.run(command, cwd=folder, user=user, group=user, capture_output=True, text=True, check=False)
    if made.returncode:
        raise DidNotStart(f"initdb ended with {made.returncode}:\n{made.stdout}{made.stderr}")


@contextmanager
def web_server(environ: Mapping[str, str], *, port: int | None = None) -> Iterator[str]:
    """Run gunicorn with the given HOOKSIDE_ settings; yield its address once /health/ answers."""
    port = port or free_port()
    address = f"http://127.0.0.1:{port}"
    command = [sys.executable, "-m", "gunicorn", "training.config.wsgi", "--bind", f"127.0.0.1:{port}"]
    command += ["--threads", "4", "--no-control-socket"]

    def ready() -> bool:
        try:
            with urllib.request.urlopen(f"{address}/health/", timeout=2) as answer:
                return bool(answer.status == 200)
        except (urllib.error.URLError, OSError):
            return False

    with _folder("web") as folder, running("gunicorn", command, folder=folder, environ=_with(environ), ready=ready):
        yield address


@contextmanager
def celery_worker(environ: Mapping[str, str], *, beat: bool = False) -> Iterator[None]:
    """Run a real worker (with beat if asked) on the broker that HOOKSIDE_REDIS_URL names, until it is ready."""
    with _folder("celery") as folder:
        command = [
            sys.executable,
            "-m",
            "celery",
            "-A",
            "training.config",
            "worker",
            "--concurrency",
            "2",
            "--loglevel",
            "INFO",
        ]
        command += ["--without-gossip", "--without-mingle"]
        if beat:
            command += ["--beat", "--schedule", str(folder / "beat")]
        log = folder / "celery.log"

        def ready() -> bool:
            return log.exists() and " ready." in log.read_text(encoding="utf-8", errors="replace")

        with running("celery", command, folder=folder, environ=_with(environ), ready=ready, stop_s=6):
            yield


def _with(environ: Mapping[str, str]) -> dict[str, str]:
    """Return this process's environment without its own settings, and with the given ones."""
    clean = {name: value for name, value in os.environ.items() if not name.startswith("HOOKSIDE_")}
    clean.pop("DJANGO_SETTINGS_MODULE", None)
    return {**clean, **environ}

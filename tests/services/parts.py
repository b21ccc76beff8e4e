"""The programs that tests need and pip cannot bring: found, fetched by apt where that is allowed, or named."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path


class MissingPart(RuntimeError):
    """A program is not on this machine; the message says what to install."""


def redis_binary() -> str:
    """Return the Redis server's path or raise MissingPart."""
    return _first(["redis-server"], "redis-server")


def chromium_binary() -> str:
    """Return Chromium's path or raise MissingPart."""
    return _first(["chromium", "chromium-browser", "google-chrome"], "chromium")


def postgres_folder() -> Path:
    """Return the folder with initdb and postgres or raise MissingPart."""
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name), reverse=True)
    for folder in folders:
        if (folder / "postgres").exists() and (folder / "initdb").exists():
            return folder
    found = shutil.which("postgres")
    if found and Path(found).resolve().with_name("pg_isready").exists():
        return Path(found).resolve().parent
    raise MissingPart("PostgreSQL is missing: apt-get install postgresql")


def _first(names: list[str], package: str) -> str:
    for name in names:
        if found := shutil.which(name):
            return found
    raise MissingPart(f"{names[0]} is missing: apt-get install {package}")


@dataclass(frozen=True)
class Part:
    """One program, the Debian packages that bring it, and how to find it."""

    name: str
    packages: tuple[str, ...]
    find: Callable[[], object]

    def is_here(self) -> bool:
        try:
            self.find()
        except MissingPart:
            return False
        return True


PARTS = (
    Part("redis", ("redis-server",), redis_binary),
    Part("postgres", ("postgresql",), postgres_folder),
    Part("chromium", ("chromium", "fonts-dejavu-core"), chromium_binary),
)


def fetch_missing() -> dict[str, str]:
    """Install what is missing where we may; return, for each part still missing, what to do."""
    missing = [part for part in PARTS if not part.is_here()]
    if missing and (prefix := _apt_prefix()) is not None:
        _install(prefix, [name for part in missing for name in part.packages])
    still = [part for part in missing if not part.is_here()]
    return {part.name: f"as root: apt-get update && apt-get install -y {' '.join(part.packages)}" for part in still}


def _apt_prefix() -> list[str] | None:
    if not shutil.which("apt-get"):
        return None
    if os.geteuid() == 0:
        return []
    may = (
        shutil.which("sudo")
        and subprocess.run(["sudo", "-n", "true"], capture_output=True, check=False).returncode == 0
    )
    return ["sudo", "-n"] if may else None


def _install(prefix: list[str], packages: list[str]) -> None:
    command = [
        *prefix,
        "env",
        "DEBIAN_FRONTEND=noninteractive",
        "LC_ALL=C.UTF-8",
        "apt-get",
        "-q",
        "-o",
        "Dpkg::Use-Pty=0",
    ]
    print(f"installing {' '.join(packages)} with apt", flush=True)
    with tempfile.TemporaryFile("w+") as log, _no_service_starts(prefix):
        for step in (["update"], ["install", "-y", "--no-install-recommends", *packages]):
            ended = subprocess.run([*command, *step], stdout=log, stderr=subprocess.STDOUT, check=False)
            if ended.returncode:
                log.seek(0)
                print(f"apt-get {step[0]} ended with {ended.returncode}:\n{log.read()[-2000:]}", file=sys.stderr)
                return


@contextmanager
def _no_service_starts(prefix: list[str]) -> Iterator[None]:
    """Keep Debian from starting the servers that it installs; the tests start their own."""
    policy = Path("/usr/sbin/policy-rc.d")
    if policy.exists():
        yield
        return
    write = [*prefix, "sh", "-c", f"printf '#!/bin/sh\\nexit 101\\n' > {policy} && chmod 755 {policy}"]
    subprocess.run(write, check=True)
    try:
        yield
    finally:
        with suppress(OSError):
            subprocess.run([*prefix, "rm", "-f", str(policy)], check=True)

"""Processes that the tests start: on free ports, in temporary folders, ended by their own id."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


class DidNotStart(RuntimeError):
    """A service ended or stayed silent; the message holds the end of its log."""


def free_port() -> int:
    """Return a port of this machine that nobody listens on now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def listens(port: int) -> bool:
    """Return whether something accepts connections on the port."""
    with socket.socket() as probe:
        probe.settimeout(0.5)
        return probe.connect_ex(("127.0.0.1", port)) == 0


@contextmanager
def running(
    name: str,
    command: Sequence[str],
    *,
    folder: Path,
    ready: Callable[[], bool],
    environ: Mapping[str, str] | None = None,
    cwd: Path = ROOT,
    user: str | None = None,
    stop_with: signal.Signals = signal.SIGTERM,
    start_s: float = 60,
    stop_s: float = 15,
) -> Iterator[subprocess.Popen[bytes]]:
    """Start a process, wait until it is ready, and end it and only it; raise DidNotStart with its log."""
    log = folder / f"{name}.log"
    as_other = {"user": user, "group": user, "extra_groups": []} if user else {}
    with log.open("wb") as out:
        process = subprocess.Popen(
            list(command),
            cwd=cwd,
            env=dict(environ) if environ is not None else None,
            stdout=out,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            start_new_session=True,
            **as_other,  # type: ignore[arg-type]
        )
    try:
        _wait(name, process, ready, log, start_s)
        yield process
    finally:
        _stop(process, stop_with, stop_s)


def _wait(name: str, process: subprocess.Popen[bytes], ready: Callable[[], bool], log: Path, start_s: float) -> None:
    end = time.monotonic() + start_s
    while time.monotonic() < end:
        if process.poll() is not None:
            raise DidNotStart(f"{name} ended with {process.returncode}:\n{_tail(log)}")
        if ready():
            return
        time.sleep(0.05)
    raise DidNotStart(f"{name} was not ready within {start_s:.0f} s:\n{_tail(log)}")


def _stop(process: subprocess.Popen[bytes], stop_with: signal.Signals, stop_s: float) -> None:
    if process.poll() is None:
        process.send_signal(stop_with)
    try:
        process.wait(stop_s)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)  # its own session: itself and its children
        process.wait(stop_s)


def _tail(log: Path, lines: int = 30) -> str:
    return "\n".join(log.read_text(encoding="utf-8", errors="replace").splitlines()[-lines:])

"""Run one service by hand until Ctrl-C: python -m tests.services redis|postgres."""

from __future__ import annotations

import signal
import sys

from tests.services.servers import postgres, redis

SERVICES = {"redis": redis, "postgres": postgres}


def main() -> int:
    """Start the service named on the command line and print its address."""
    if len(sys.argv) != 2 or sys.argv[1] not in SERVICES:
        print(f"usage: python -m tests.services {'|'.join(SERVICES)}", file=sys.stderr)
        return 2
    with SERVICES[sys.argv[1]]() as address:
        print(address, flush=True)
        signal.sigwait({signal.SIGINT, signal.SIGTERM})
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""python -m tests.people.guessing: one process that counts tries at one account, once it is told to go."""

from __future__ import annotations

import os
import sys
from datetime import UTC, datetime

import django

AT = datetime(2026, 3, 2, 9, tzinfo=UTC)


def main(tries: int) -> None:
    """Wait for "go", then say how many of so many tries may be looked at."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "training.config.settings")
    django.setup()
    from training.people.attempts import begin, sign_in_counts

    counts = sign_in_counts(username="somebody", address="192.0.2.1", browser="")
    print("ready", flush=True)
    sys.stdin.readline()
    print(sum(1 for _try in range(tries) if begin(counts, at=AT).wait is None))


if __name__ == "__main__":
    main(int(sys.argv[1]))

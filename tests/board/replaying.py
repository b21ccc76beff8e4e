"""A process of its own that prints the digest of all decisions of a small workshop: python -m tests.board.replaying."""

from __future__ import annotations

import hashlib
import random
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from unittest.mock import patch

import django


@contextmanager
def seeded_keys(seed: int = 11) -> Iterator[None]:
    """Keys of people and workshops are random; here they are the same every time."""
    chance = random.Random(seed)
    with patch("training.people.models.secrets.token_hex", lambda count: chance.randbytes(count).hex()):
        yield


def digest() -> str:
    """Make the workshop, and the digest of all its decisions at several moments, known at several records."""
    from tests.board.house import NOW, make_house, observe, stand_down
    from training.board.queries import board_of
    from training.core.permission.mapping import as_mapping
    from training.records.canonical import canonical_text
    from training.records.queries import head_of

    with seeded_keys():
        house = make_house()
    observe(house, house.rob, "T1", at=NOW)
    stand_down(house, house.tina, at=NOW + timedelta(hours=1))
    newest = head_of(house.chain_id).number
    whole = hashlib.sha256()
    for days, known_at in ((0, newest), (-20, newest), (0, newest - 1), (1, newest), (-40, newest // 2)):
        board = board_of(
            house.workshop, at=NOW + timedelta(days=days), read_at=NOW + timedelta(days=2), known_at=known_at
        )
        for key in sorted(board):
            for job_type in sorted(board[key]):
                whole.update(canonical_text(as_mapping(board[key][job_type])).encode())
    return whole.hexdigest()


def main() -> None:
    """On a database in memory of this process alone."""
    django.setup()
    from django.core.management import call_command
    from django.db import transaction

    call_command("migrate", verbosity=0)
    with transaction.atomic():
        print(digest())


if __name__ == "__main__":
    main()

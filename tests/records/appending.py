"""A process of its own that appends to chain 1 as fast as it can: python -m tests.records.appending COUNT."""

from __future__ import annotations

import sys
from datetime import UTC, datetime

import django


def main(count: int) -> None:
    """Make the chain if there is none, and print the number of each record that this process wrote."""
    django.setup()
    from django.db import transaction

    from tests.records.noted import Noted
    from training.records.actions import append
    from training.records.models import Chain

    chain, _made = Chain.objects.get_or_create(pk=1)
    for n in range(count):
        with transaction.atomic():
            record = append(Noted(n=n), chain_id=chain.pk, about="a" * 32, at=datetime.now(UTC))
        print(record.number)


if __name__ == "__main__":
    main(int(sys.argv[1]))

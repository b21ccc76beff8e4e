"""The small workshop, and a clock that stands still until a test moves it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from django.utils import timezone

from tests.board.house import NOW, House, make_house


@pytest.fixture
def house() -> House:
    return make_house()


@pytest.fixture
def set_clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[datetime], None]:
    """Sets what views, tasks and commands read from the clock."""

    def set_to(instant: datetime) -> None:
        monkeypatch.setattr(timezone, "now", lambda: instant)

    set_to(NOW + timedelta(minutes=1))
    return set_to

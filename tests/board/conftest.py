"""The small workshop, a bay with everything there for a job, and clocks that stand still until a test moves them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from django.utils import timezone

from tests.board.house import NOW, House, make_house
from tests.board.job_cast import Clock, job_bay
from tests.board.work_cast import Bay


@pytest.fixture
def house() -> House:
    return make_house()


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """A clock that stands at this moment, for jobs, whose kit was checked today."""
    return Clock(monkeypatch)


@pytest.fixture
def bay(clock: Clock) -> Bay:
    """People, papers and kit for a job."""
    return job_bay()


@pytest.fixture
def set_clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[datetime], None]:
    """Sets what views, tasks and commands read from the clock."""

    def set_to(instant: datetime) -> None:
        monkeypatch.setattr(timezone, "now", lambda: instant)

    set_to(NOW + timedelta(minutes=1))
    return set_to

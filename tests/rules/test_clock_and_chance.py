"""The clock is read and chance is taken only where that is allowed: ruff is seen to fire on each ban."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BANNED = [
    "from django.utils import timezone\nx = timezone.now()\n",
    "from django.utils import timezone\nx = timezone.localdate()\n",
    "from django.utils.timezone import localtime\nx = localtime()\n",
    "from datetime import UTC, datetime\nx = datetime.now(UTC)\n",
    "import datetime\nx = datetime.datetime.now(datetime.UTC)\n",
    "from datetime import date\nx = date.today()\n",
    "import time\nx = time.time()\n",
    "import random\nx = random.random()\n",
    "import random\nx = random.choice([1, 2])\n",
    "from random import shuffle\nshuffle([1, 2])\n",
    "import numpy\nnumpy.random.seed(1)\n",
    "from training.config import settings\nx = settings.DEBUG\n",
]
STRICT = [
    "training/core/trade/gloves.py",
    "training/drill/actions.py",
    "training/board/queries.py",
    "training/people/models.py",
]
MAY = [
    "training/drill/views.py",
    "training/board/views/cells.py",
    "training/board/tasks.py",
    "training/bank/management/commands/load_bank.py",
]


def ruff(text: str, place: str) -> str:
    """Return what ruff says of the text as if it stood at `place`."""
    command = [
        sys.executable,
        "-m",
        "ruff",
        "check",
        "--no-cache",
        "--output-format",
        "concise",
        "--stdin-filename",
        place,
        "-",
    ]
    return subprocess.run(command, cwd=ROOT, input=text, capture_output=True, text=True, check=False).stdout


@pytest.mark.parametrize("text", BANNED)
def test_a_banned_call_is_refused_in_an_action(text: str) -> None:
    assert "TID251" in ruff(text, "training/drill/actions.py")


@pytest.mark.parametrize("place", STRICT)
def test_the_clock_is_banned_in_core_actions_queries_and_models(place: str) -> None:
    assert "TID251" in ruff(BANNED[0], place)


@pytest.mark.parametrize("place", MAY)
def test_views_tasks_and_commands_may_read_the_clock(place: str) -> None:
    assert "TID251" not in ruff(BANNED[0], place)


def test_a_date_without_a_zone_is_refused() -> None:
    assert "DTZ" in ruff("from datetime import datetime\nx = datetime(2026, 1, 1)\n", "training/core/trade/gloves.py")


def test_a_winding_function_is_refused() -> None:
    branches = "".join(f"    if x == {number}:\n        return {number}\n" for number in range(9))
    assert "C901" in ruff(f"def winding(x: int) -> int:\n{branches}    return 0\n", "training/core/trade/gloves.py")

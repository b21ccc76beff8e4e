"""A practical task at its edges: version and minutes from 1, and a fault that is about the whole attempt."""

from __future__ import annotations

import pytest

from tests.core.permission.test_practical import DONE, NOT_YET, PLAIN, task
from training.core.permission.practical import faults_of_attempt, task_from
from training.core.questions.reading_fields import Refused


def test_the_first_version_and_a_single_minute_are_whole_numbers_too() -> None:
    read = task_from({**PLAIN, "version": 1, "minutes": 1})
    assert (read.version, read.minutes) == (1, 1)
    assert task_from({**PLAIN, "minutes": 20.0}).minutes == 20


@pytest.mark.parametrize("number", [0, -1, 0.5, 1.5])
def test_nothing_below_one_and_no_part_of_one_is_a_whole_number(number: float) -> None:
    for name in ("version", "minutes"):
        with pytest.raises(Refused):
            task_from({**PLAIN, name: number})


def test_a_fault_about_the_whole_is_about_no_step() -> None:
    (fault,) = faults_of_attempt(task(), [DONE, DONE], NOT_YET)
    assert (fault.step, fault.result) == (0, None)

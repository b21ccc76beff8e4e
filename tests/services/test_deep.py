"""The deep run's report counts what was really generated."""

from __future__ import annotations

from tests.services.deep import count_cases

SAID = """
tests/core/test_x.py::test_one:

  - during generate phase (0.03 seconds):
    - 30 passing, 0 failing, and 3 invalid test cases

tests/core/test_x.py::test_two[a b]:

  - during reuse phase (0.00 seconds):
    - 1 passing, 0 failing, and 0 invalid test cases
  - during generate phase (0.03 seconds):
    - 9998 passing, 1 failing, and 0 invalid test cases

2 passed in 1.00s
"""


def test_cases_are_added_up_for_each_law_and_invalid_ones_left_out() -> None:
    assert count_cases(SAID) == {"tests/core/test_x.py::test_one": 30, "tests/core/test_x.py::test_two[a b]": 10_000}

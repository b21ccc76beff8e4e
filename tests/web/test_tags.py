"""Tags and filters that every page may use."""

from __future__ import annotations

import pytest

from training.web.tags import days_together, figure

GAP = "\u00a0"


@pytest.mark.parametrize(
    ("number", "written"),
    [(7.0, "7"), (0.5, "0.5"), (1250.0, "1250"), (0.0, "0"), (-1.25, "-1.25"), (1 / 3, "0.333333"), (100, "100")],
)
def test_a_number_is_written_without_zeros_that_do_not_count(number: float, written: str) -> None:
    assert figure(number) == written


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        ("may take until 7 Mar 2027 13:24", f"may take until 7{GAP}Mar 2027 13:24"),
        ("through 30 Apr", f"through 30{GAP}Apr"),
        ("2 missing", "2 missing"),
        ("not sought", "not sought"),
    ],
)
def test_a_day_and_its_month_stay_on_one_line(words: str, shown: str) -> None:
    assert days_together(words) == shown

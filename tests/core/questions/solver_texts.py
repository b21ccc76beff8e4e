"""Reads figures and days out of a question's text for the second solver, and counts months by itself."""

from __future__ import annotations

import calendar
import re
from collections.abc import Callable
from datetime import date

from training.core.questions.kinds import Question

Answer = str | float | list[str]

NUM = r"(-?\d[\d ]*(?:\.\d+)?)"
DAY = r"(\d{1,2} [A-Z][a-z]{2} \d{4})"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def numbers(pattern: str, text: str) -> list[float]:
    found = re.search(pattern.replace("#", NUM), text)
    assert found, f"nothing like {pattern} in: {text}"
    return [float(group.replace(" ", "")) for group in found.groups()]


def days(text: str) -> list[date]:
    found = [words.split() for words in re.findall(DAY, text)]
    return [date(int(year), MONTHS.index(month) + 1, int(day)) for day, month, year in found]


def printed(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def later(day: date, months: int) -> date:
    """Same-numbered day, else the last of the month: Reg. (EEC, Euratom) 1182/71 Art 3(2)(c)."""
    year, month = day.year + (day.month + months - 1) // 12, (day.month + months - 1) % 12 + 1
    return date(year, month, min(day.day, calendar.monthrange(year, month)[1]))


def the_one(question: Question, holds: Callable[[str], bool]) -> str:
    """The text of the one option that this holds for."""
    found = [option.text for option in question.options if holds(option.text)]
    assert len(found) == 1, f"{found} in {question.situation}"
    return found[0]

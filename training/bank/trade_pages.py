"""Writes the figures and worked examples of the pages in docs/trade: what stands between markers is made by the code.

A page asks for it in comments: ``<!-- figures`` with lines ``NAME: label`` of trade figures, and ``<!-- example KIND``
with the values as JSON. What follows such a comment up to ``<!-- end -->`` is written anew.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from training.core.trade import limits
from training.core.trade.asking import KINDS, ask
from training.core.trade.asking.fields import Field
from training.core.trade.limits import Limit

_BLOCK: Final = re.compile(
    r"(?P<marker><!-- (?P<word>figures|example)\b(?P<asked>.*?)-->\n)(?P<body>.*?)<!-- end -->", re.S
)
_END: Final = "<!-- end -->"
EXACT: Final = 12  # digits: more than any figure of the trade has


def pages(folder: Path) -> list[Path]:
    """Every page of the trade, the list of them left out."""
    return sorted(page for page in folder.glob("*.md") if page.name != "README.md")


def made(text: str) -> str:
    """The page with its figures and examples as the code makes them now."""
    return _BLOCK.sub(lambda found: f"{found['marker']}{_body(found['word'], found['asked'])}{_END}", text)


def examples(text: str) -> list[str]:
    """The kinds of question that a page shows an example of."""
    return [found["asked"].split()[0] for found in _BLOCK.finditer(text) if found["word"] == "example"]


def _body(word: str, asked: str) -> str:
    return f"\n{_figures(asked) if word == 'figures' else _example(asked)}\n"


# ---------------------------------------------------------------- figures
def _figures(asked: str) -> str:
    rows = [row for line in asked.strip().splitlines() for row in _figure_rows(*line.split(":", 1))]
    return _table(("Figure", "Value", "Source", "Status"), rows)


def _figure_rows(name: str, label: str) -> Iterator[tuple[str, ...]]:
    for key, limit in _limits(getattr(limits, name.strip()), ""):
        status = f"{limit.status}; confirm in the standard" if limit.confirm_in_standard else limit.status
        value = f"{number(limit.value, EXACT)} {limit.unit}"
        yield label.strip().replace("{}", key.strip()), value, limit.source, status


def _limits(found: Limit | Mapping[str, Any], key: str) -> Iterator[tuple[str, Limit]]:
    if isinstance(found, Limit):
        yield key, found
        return
    for name, inner in found.items():
        yield from _limits(inner, f"{key} {name}")


# ---------------------------------------------------------------- examples
def _example(asked: str) -> str:
    name, values = asked.split(maxsplit=1)
    kind, given = KINDS[name], json.loads(values)
    answer = ask(name, given)
    parts = [
        f"Given to `manage.py trade {name}`:",
        _table(("Value", ""), _given_rows(kind.takes, given)),
        f"Answer: **{answer['verdict']}**." + _yes_or_no(answer),
        _table(("Figure", ""), _answer_rows(answer["figures"], {each.name: each.says for each in kind.gives})),
        _reasons(answer["reasons"]),
        _listed("Not judged here", answer["not_judged"]),
    ]
    return "\n\n".join(part for part in parts if part)


def _given_rows(takes: tuple[Field, ...], given: Mapping[str, Any]) -> list[tuple[str, ...]]:
    fields = {field.name: field for field in takes}
    return [(f"`{name}`: {fields[name].says}", written(value, fields[name].unit)) for name, value in given.items()]


def _answer_rows(figures: Mapping[str, Any], says: Mapping[str, str]) -> list[tuple[str, ...]]:
    return [(f"`{name}`: {says[name]}", written(each["value"], each["unit"])) for name, each in figures.items()]


def _yes_or_no(answer: Mapping[str, Any]) -> str:
    return "".join(f" (`{name}`: {written(answer[name])})" for name in ("fit", "ok") if name in answer)


def _reasons(reasons: list[dict[str, str]]) -> str:
    return "\n".join(f"- {each['about']}: {each['sentence']} Source: {each['source']}." for each in reasons)


def _listed(title: str, lines: list[str]) -> str:
    return f"{title}: {'; '.join(lines)}." if lines else ""


# ---------------------------------------------------------------- writing
def written(value: object, unit: str = "") -> str:
    """A value as people read it; what is null is not known."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return _joined("; ", (f"{name}: {written(each)}" for name, each in value.items()))
    if isinstance(value, list):
        return _joined("<br>" if any(isinstance(each, dict) for each in value) else "; ", map(written, value))
    shown = number(value) if isinstance(value, (int, float)) else str(value)
    return f"{shown} {unit}" if unit not in ("", "day", "instant", "class", "CAT") else shown


def _joined(between: str, parts: Iterable[str]) -> str:
    return between.join(parts) or "none"


def number(value: float, digits: int = 6) -> str:
    """A number with spaces between thousands, else with so many digits."""
    if float(value).is_integer():
        return f"{int(value):,}".replace(",", " ")
    return f"{value:.{digits}g}"


def _table(heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    if not rows:
        return ""
    lines = [heads, ("---",) * len(heads), *rows]
    return "\n".join(f"| {' | '.join(cell.replace('|', '/') for cell in line)} |" for line in lines)

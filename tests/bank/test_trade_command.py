"""manage.py trade as it is called: one JSON object out, or exit code 1 with a plain sentence."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from training.core.trade.asking import KINDS

ROOT = Path(__file__).resolve().parents[2]
DATES = '{"tested_on": "2016-01-01", "issued_on": "2016-10-01", "on": "2017-01-01"}'


def trade(*words: str) -> str:
    out = io.StringIO()
    call_command("trade", *words, stdout=out)
    return out.getvalue()


def answered(*words: str) -> dict[str, Any]:
    return dict(json.loads(trade(*words)))


def test_alone_it_lists_the_kinds() -> None:
    lines = trade().splitlines()
    assert [line.split()[0] for line in lines[: len(KINDS)]] == list(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_of_the_schema_is_answered(kind: str) -> None:
    shown = answered(kind, "--schema")
    assert answered(kind, "--json", json.dumps(shown["example"]))["kind"] == kind


def test_a_verdict_comes_with_its_reasons_and_sources() -> None:
    answer = answered("glove-dates", "--json", DATES)
    assert answer["ok"] is False
    assert answer["reasons"][0]["source"] in answer["sources"]


@pytest.mark.parametrize("words", [["glove-dates", "-"], ["glove-dates", "--json", "-"]])
def test_values_are_read_from_stdin(words: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(DATES))
    assert answered(*words)["ok"] is False


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("{}", "tested_on is missing"),
        (DATES.replace("issued_on", "issued"), "issued is unknown"),
        (DATES.replace('"2017-01-01"', "2017"), "on is 2017"),
        ('{"tested_on": NaN}', "NaN is no number"),
        (DATES.replace("{", '{"on": "2016-11-11", '), "on is written twice"),
        ("{", "cannot be read as JSON"),
        ("[" * 100_000, "nested too deeply"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(text: str, says: str) -> None:
    with pytest.raises(CommandError, match=says):
        trade("glove-dates", "--json", text)


def test_no_values_and_no_such_kind_are_refused() -> None:
    with pytest.raises(CommandError, match="--schema"):
        trade("pads")
    with pytest.raises(CommandError, match="is no kind"):
        trade("shoes", "--json", "{}")


@pytest.mark.parametrize(("text", "code"), [(DATES, 0), ("{}", 1)])
def test_it_runs_without_a_database_and_says_by_its_exit_code_how_it_went(text: str, code: int, tmp_path: Path) -> None:
    away = {**os.environ, "DJANGO_SETTINGS_MODULE": "training.config.settings_test"}
    away["HOOKSIDE_TEST_DATABASE_URL"] = f"sqlite:///{tmp_path}/no/such/folder/db.sqlite3"
    command = [sys.executable, "manage.py", "trade", "glove-dates", "--json", text]
    ended = subprocess.run(command, cwd=ROOT, env=away, capture_output=True, text=True, check=False)
    assert ended.returncode == code
    assert ("on is missing" in ended.stderr, "glove_test_out" in ended.stdout) == (code == 1, code == 0)
    assert "Traceback" not in ended.stderr

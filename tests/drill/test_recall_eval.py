"""manage.py recall_eval: one report from a plain or gzipped file, and errors that name the line."""

from __future__ import annotations

import gzip
import json

import pytest
from django.core.management import CommandError, call_command

from tests.core.memory.evaluation.practice import NOT_HERE, REAL_FILE, lines_of, made_up_rows
from training.core.memory.evaluation.baselines import BASELINES

PARTS = {"n", "log_loss", "auc", "ece"}


@pytest.fixture(scope="module")
def practice(tmp_path_factory):
    path = tmp_path_factory.mktemp("practice") / "practice.csv"
    path.write_text("\n".join(lines_of(made_up_rows(30, 20))), encoding="utf-8")
    return path


def report_of(capsys, path, *more) -> dict:
    call_command("recall_eval", "--csv", str(path), "--json", *more)
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("protocol", ["student", "forward"])
def test_the_report_has_the_model_and_every_baseline(capsys, practice, protocol):
    report = report_of(capsys, practice, "--protocol", protocol)
    assert set(report) == {"model", "protocol", "late", "day", "below_5pct", "baselines"}
    assert report["protocol"] == protocol
    assert set(report["baselines"]) == set(BASELINES)
    for scores in (report, *report["baselines"].values()):
        assert set(scores["late"]) == set(scores["day"]) == PARTS
        assert 0 < scores["late"]["n"] < scores["day"]["n"]
    assert 0 <= report["below_5pct"] <= 1


def test_a_gzipped_file_gives_the_same_report_whatever_its_name(capsys, practice, tmp_path):
    packed = tmp_path / "practice.csv"
    packed.write_bytes(gzip.compress(practice.read_bytes()))
    assert report_of(capsys, packed) == report_of(capsys, practice)


def test_the_table_names_every_way_and_the_share_under_the_bound(capsys, practice):
    call_command("recall_eval", "--csv", str(practice))
    table = capsys.readouterr().out
    assert all(table.count(name) == 2 for name in BASELINES)
    assert "under the 5 % bound:" in table
    assert "one in four right: the bound holds for 9" in table


@pytest.mark.parametrize(
    ("stored", "said"),
    [
        (b"person,split\n", "bad.csv: line 1: no column question, ms, answer, latency_s"),
        ("\n".join(lines_of([("a", "train", "q", "soon", "right", 1)])).encode(), "bad.csv: line 2: ms 'soon'"),
        (gzip.compress(b"person,split\n" * 999)[:-20], "cut short or damaged; copy it again"),
        (b"\x1f\x8bno gzip at all", "bad.csv cannot be read"),
        (b"person,split\nann,\xff\n", "bad.csv: line 2: not UTF-8 text"),
        ("\n".join(lines_of([("a", "train", "q", 1, "right", 1)])).encode(), "no answers to score under 'student'"),
    ],
)
def test_a_bad_file_is_refused_with_what_to_do(tmp_path, stored, said):
    path = tmp_path / "bad.csv"
    path.write_bytes(stored)
    with pytest.raises(CommandError, match="bad.csv") as refused:
        call_command("recall_eval", "--csv", str(path))
    assert said in str(refused.value)


def test_a_file_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(CommandError, match=r"none.csv cannot be read: No such file"):
        call_command("recall_eval", "--csv", str(tmp_path / "none.csv"))


@pytest.mark.skipif(not REAL_FILE.exists(), reason=NOT_HERE)
def test_on_real_answers_of_held_out_people_no_baseline_predicts_late_answers_better(capsys):
    report = report_of(capsys, REAL_FILE)
    assert report["below_5pct"] <= 0.12
    assert report["late"]["log_loss"] <= min(one["late"]["log_loss"] for one in report["baselines"].values())
    assert report["day"]["log_loss"] <= min(one["day"]["log_loss"] for one in report["baselines"].values())

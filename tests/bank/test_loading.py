"""Loading a bank: versions for what is new or changed, and nothing at all when anything is wrong."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from tests.factories.bank import LOADED_AT, TaskVersionFactory, pick_one, work_out
from tests.factories.people import WorkshopGroupFactory
from training.bank.actions import Loaded, load_bank
from training.bank.files import BankRefused, read_bank
from training.bank.models import Question, QuestionVersion, TaskVersion
from training.people.models import WorkshopGroup

pytestmark = [pytest.mark.django_db, pytest.mark.db]

# wordings that pass the lint, which the short entries of the factories need not
SOUND = {
    "situation": "You have pulled the disconnect. The meter shows 0 V between both poles.",
    "stem": "Which act comes before you take the gloves off?",
    "options": [
        {"text": "Prove the meter again on the known source", "right": True, "reason": "An open lead shows 0 V too."},
        {"text": "Write the reading on the record sheet", "reason": "A record of an unproved reading misleads."},
        {"text": "Close the cover over the service plug", "reason": "The poles are not yet shown to be dead."},
    ],
}


class WrittenOut(yaml.SafeDumper):
    """Writes what two entries share twice, as an author would."""

    def ignore_aliases(self, data: Any) -> bool:
        return True


def dumped(whole: Any) -> str:
    return yaml.dump(whole, Dumper=WrittenOut, sort_keys=False)


def sound(ident: str = "lead-came-loose", **changes: Any) -> dict[str, Any]:
    return pick_one(ident, **{**SOUND, **changes})


def write_bank(folder: Path, questions: list[Any], name: str = "meters.yaml", **sections: Any) -> Path:
    whole = {"topic": "meters and proving", "questions": questions, **sections}
    (folder / name).write_text(dumped(whole), encoding="utf-8")
    return folder


def load(folder: Path, group: WorkshopGroup) -> Loaded:
    return load_bank(group=group, path=folder, at=LOADED_AT)


def faults_of(folder: Path) -> list[str]:
    return [str(fault) for fault in read_bank(folder).errors]


def refusal_of(folder: Path, group: WorkshopGroup) -> str:
    with pytest.raises(BankRefused) as refused:
        load(folder, group)
    assert Question.objects.count() == QuestionVersion.objects.count() == TaskVersion.objects.count() == 0
    return str(refused.value)


@pytest.fixture
def group() -> WorkshopGroup:
    return WorkshopGroupFactory()


def test_a_new_question_becomes_its_first_version(tmp_path: Path, group: WorkshopGroup) -> None:
    assert load(write_bank(tmp_path, [sound()]), group) == Loaded(new=1, changed=0, same=0)
    version = QuestionVersion.objects.get()
    assert (version.number, version.topic, version.kind, version.consequence, version.author) == (
        1,
        "meters and proving",
        "pick one",
        "life",
        "Hookside",
    )


def test_loading_the_same_files_again_changes_nothing(tmp_path: Path, group: WorkshopGroup) -> None:
    load(write_bank(tmp_path, [sound()]), group)
    assert load(tmp_path, group) == Loaded(new=0, changed=0, same=1)
    assert QuestionVersion.objects.count() == 1


def test_a_changed_reason_becomes_the_next_version_and_keeps_the_one_before(
    tmp_path: Path, group: WorkshopGroup
) -> None:
    load(write_bank(tmp_path, [sound()]), group)
    assert load(write_bank(tmp_path, [sound(stem="Which act comes next here?")]), group).changed == 1
    stems = [version.content["stem"] for version in QuestionVersion.objects.order_by("number")]
    assert stems == [SOUND["stem"], "Which act comes next here?"]


def test_two_groups_keep_their_own_versions(tmp_path: Path, group: WorkshopGroup) -> None:
    load(write_bank(tmp_path, [sound()]), group)
    assert load(tmp_path, WorkshopGroupFactory()).new == 1
    assert Question.objects.count() == 2


def test_a_broken_question_names_file_line_and_rule_and_nothing_is_loaded(tmp_path: Path, group: WorkshopGroup) -> None:
    broken = sound("spare-lead")
    del broken["source"]
    said = refusal_of(write_bank(tmp_path, [sound(), broken]), group)
    text = (tmp_path / "meters.yaml").read_text(encoding="utf-8").splitlines()
    line = next(place for place, row in enumerate(text, 1) if "spare-lead" in row)
    assert f"meters.yaml:{line}: S2 questions[2].source" in said


def test_one_broken_file_keeps_the_sound_ones_out_too(tmp_path: Path, group: WorkshopGroup) -> None:
    write_bank(tmp_path, [sound()])
    write_bank(tmp_path, [sound("other", kind="guess")], name="other.yaml")
    assert refusal_of(tmp_path, group).startswith("other.yaml:4: S4 questions[1].kind")


def test_every_fault_of_every_file_is_named_at_once(tmp_path: Path) -> None:
    write_bank(tmp_path, [sound(regime="moon", consequence="boredom")], name="a.yaml")
    write_bank(tmp_path, [sound("two", review_by="soon")], name="b.yaml")
    rules = [(fault.file, fault.where) for fault in read_bank(tmp_path).errors]
    assert rules == [
        ("a.yaml", "questions[1].consequence"),
        ("a.yaml", "questions[1].regime"),
        ("b.yaml", "questions[1].review_by"),
    ]


def test_a_lint_error_refuses_the_load(tmp_path: Path, group: WorkshopGroup) -> None:
    options = [
        {**option, "text": "All of the above"} if n == 2 else option for n, option in enumerate(SOUND["options"])
    ]
    assert " L" in refusal_of(write_bank(tmp_path, [sound(options=options)]), group)


def test_a_field_written_twice_is_refused_with_its_line(tmp_path: Path, group: WorkshopGroup) -> None:
    (tmp_path / "twice.yaml").write_text("topic: lifting\ntopic: rescue\nquestions: []\n", encoding="utf-8")
    said = refusal_of(tmp_path, group)
    assert said.startswith("twice.yaml:2: S0")
    assert "'topic' is written twice" in said


def test_an_id_used_twice_names_both_places(tmp_path: Path, group: WorkshopGroup) -> None:
    write_bank(tmp_path, [sound()], name="a.yaml")
    write_bank(tmp_path, [sound()], name="b.yaml")
    said = refusal_of(tmp_path, group)
    assert "b.yaml:3: S8 lead-came-loose" in said
    assert "a.yaml line 3" in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("topic: lifting\nquestions: [", "broken.yaml:2: S0"),
        ("topic: lifting\nquestions: many\n", "broken.yaml:2: S3 questions"),
        ("topic: lifting\nquestions: [one, two]\n", "broken.yaml:2: S3 questions[1]"),
        ("topic: gardening\nquestions: []\n", "broken.yaml:1: S4 topic"),
        ("topic: lifting\nsurprise: []\n", "broken.yaml:1: S1"),
        ("just words\n", "broken.yaml:1: S1"),
        ("", "broken.yaml:1: S1"),
        ("topic: &t lifting\nquestions: [*t]\n", "broken.yaml:2: S0"),
        ("? [a]\n: b\n", "broken.yaml:1: S0"),
        ("topic: lifting\nquestions:\n  - id: 2027-13-45\n", "broken.yaml:1: S0"),
        ("tasks: [1]\n", "broken.yaml:1: S3 tasks[1]"),
    ],
)
def test_a_file_that_is_no_bank_is_refused_with_its_line(
    tmp_path: Path, group: WorkshopGroup, text: str, said: str
) -> None:
    (tmp_path / "broken.yaml").write_text(text, encoding="utf-8")
    assert refusal_of(tmp_path, group).startswith(said)


def test_bytes_that_are_no_text_are_refused(tmp_path: Path, group: WorkshopGroup) -> None:
    (tmp_path / "bytes.yaml").write_bytes(b"topic: \xff\xfe\n")
    assert refusal_of(tmp_path, group).startswith("bytes.yaml:1: S0")


def test_an_empty_folder_and_a_missing_one_are_refused(tmp_path: Path) -> None:
    assert "S2" in faults_of(tmp_path)[0]
    assert "S2" in faults_of(tmp_path / "nowhere")[0]


def test_a_worked_out_entry_is_kept_with_its_generator(tmp_path: Path, group: WorkshopGroup) -> None:
    drawn = {"id": "chain-of-parts", "generator": "meter_chain_weakest", "review_by": "2027-11-30"}
    assert load(write_bank(tmp_path, [], worked_out=[drawn]), group).new == 1
    assert QuestionVersion.objects.get().worked_out == "meter_chain_weakest"


@pytest.mark.parametrize(
    ("generator", "rule"),
    [("none_such", "S4 worked_out[1].generator"), ("cordon_verdict", "S6 worked_out[1].generator")],
)
def test_a_generator_that_is_unknown_or_of_another_topic_is_refused(
    tmp_path: Path, group: WorkshopGroup, generator: str, rule: str
) -> None:
    drawn = {"id": "chain-of-parts", "generator": generator, "review_by": "2027-11-30"}
    assert rule in refusal_of(write_bank(tmp_path, [], worked_out=[drawn]), group)


def write_tasks(folder: Path, *rows: dict[str, Any]) -> Path:
    (folder / "tasks.yaml").write_text(dumped({"tasks": list(rows)}), encoding="utf-8")
    return folder


def test_a_task_file_is_loaded_in_versions_too(tmp_path: Path, group: WorkshopGroup) -> None:
    task = TaskVersionFactory.build(group=group, ident="T1").content
    assert load(write_tasks(tmp_path, task), group).new == 1
    assert load(tmp_path, group).same == 1
    assert load(write_tasks(tmp_path, {**task, "title": "Another title"}), group).changed == 1
    assert [(row.number, row.content["version"]) for row in TaskVersion.objects.order_by("number")] == [(1, 1), (2, 2)]


def test_a_task_without_a_critical_step_or_with_an_id_used_twice_is_refused(
    tmp_path: Path, group: WorkshopGroup
) -> None:
    task = TaskVersionFactory.build(group=group, ident="T1").content
    tame = {**task, "id": "T2", "steps": [{**step, "critical": False} for step in task["steps"]]}
    said = refusal_of(write_tasks(tmp_path, task, task, tame), group)
    assert "S6 tasks[3].steps" in said
    assert "S8 T1" in said


def test_a_figure_in_an_entry_does_not_hinder_its_digest(tmp_path: Path, group: WorkshopGroup) -> None:
    situation = "Two equal parts share 25 V of a supply that was proved on a known source."
    entry = work_out("half-of-it", situation=situation, stem="By calculation, what voltage lies across each part?")
    load(write_bank(tmp_path, [entry]), group)
    assert load(tmp_path, group).same == 1

"""Reads the YAML files of a bank: every fault with its file, line and rule, and nothing at all if there is one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import yaml

from training.core.permission.practical import PracticalTask, task_from
from training.core.questions.kinds import Question, Topic
from training.core.questions.lint import Finding, Level, lint_bank, lint_question
from training.core.questions.reading import WorkedOut, question_from, topic_from, worked_out_from
from training.core.questions.reading_fields import Fault, Refused
from training.core.questions.variants import GENERATORS, draw


@dataclass(frozen=True, slots=True, kw_only=True)
class FileFault:
    """One thing wrong in a file, where it stands and which rule it breaks."""

    file: str
    line: int
    rule: str
    where: str
    sentence: str
    is_error: bool = True

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {f'{self.rule} {self.where}'.strip()}: {self.sentence}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One question as read: the mapping to keep, what it is, and where it stands."""

    question: Question
    content: dict[str, Any]
    worked_out: str
    file: str
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskEntry:
    """One practical task as read, and where it stands."""

    task: PracticalTask
    content: dict[str, Any]
    file: str
    line: int


@dataclass(slots=True)
class BankFiles:
    """All that was read from one folder."""

    entries: list[Entry] = field(default_factory=list)
    tasks: list[TaskEntry] = field(default_factory=list)
    faults: list[FileFault] = field(default_factory=list)

    @property
    def errors(self) -> list[FileFault]:
        return [fault for fault in self.faults if fault.is_error]


class BankRefused(ValueError):
    """A bank that is not loaded; ``faults`` says why, each with file, line and rule."""

    def __init__(self, faults: list[FileFault]) -> None:
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))


class _Loader(yaml.SafeLoader):
    """Refuses a field written twice, of which plain YAML keeps the second, and an alias, which can nest endlessly."""

    def compose_node(self, parent: yaml.Node | None, index: int) -> yaml.Node | None:
        if self.check_event(yaml.AliasEvent):
            mark = self.peek_event().start_mark  # type: ignore[no-untyped-call]
            raise yaml.MarkedYAMLError(None, None, "write it out again instead of using an alias", mark)
        return super().compose_node(parent, index)


def _mapping_once(loader: _Loader, node: yaml.MappingNode) -> dict[Any, Any]:
    seen: set[str] = set()
    for key_node, _ in node.value:
        if not isinstance(key_node, yaml.ScalarNode):
            raise yaml.MarkedYAMLError(None, None, "a field's name is plain text", key_node.start_mark)
        if key_node.value in seen:
            raise yaml.MarkedYAMLError(
                None, None, f"the field {key_node.value!r} is written twice", key_node.start_mark
            )
        seen.add(key_node.value)
    return dict(loader.construct_pairs(node, deep=True))


_Loader.add_constructor(yaml.resolver.BaseResolver.DEFAULT_MAPPING_TAG, _mapping_once)


def plain_from(text: str) -> Any:
    """One YAML or JSON text as plain values, as strictly as the files of a bank. ``ValueError`` names the line."""
    try:
        return yaml.load(text, Loader=_Loader)  # noqa: S506 - a SafeLoader
    except (yaml.YAMLError, ValueError, RecursionError) as problem:
        mark = getattr(problem, "problem_mark", None)
        said = getattr(problem, "problem", None) or "a character or a value in it cannot be read"
        raise ValueError(f"line {mark.line + 1 if mark else 1}: {said}") from problem


def read_bank(folder: Path) -> BankFiles:
    """Read every YAML file of a folder, question and task files alike, and lint the whole."""
    bank = BankFiles()
    paths = sorted(folder.glob("*.yaml")) if folder.is_dir() else [folder]
    if not paths or not all(path.is_file() for path in paths):
        bank.faults.append(_whole_file(folder, 1, "S2", "Give a folder with YAML files, or one YAML file."))
        return bank
    for path in paths:
        _read_file(path, bank)
    _check_ids(bank)
    _lint(bank)
    return bank


def _whole_file(path: Path, line: int, rule: str, sentence: str) -> FileFault:
    return FileFault(file=path.name, line=line, rule=rule, where="", sentence=sentence)


def _read_file(path: Path, bank: BankFiles) -> None:
    try:
        text = path.read_text(encoding="utf-8")
        root = yaml.compose(text, Loader=_Loader)
        whole = yaml.load(text, Loader=_Loader)  # noqa: S506 - a SafeLoader
    except (yaml.YAMLError, ValueError, RecursionError) as problem:
        mark = getattr(problem, "problem_mark", None)
        said = getattr(problem, "problem", None) or "a character or a value in it cannot be read"
        bank.faults.append(_whole_file(path, mark.line + 1 if mark else 1, "S0", f"Not readable as YAML: {said}."))
        return
    sections = {"topic", "questions", "worked_out"} if isinstance(whole, dict) and "topic" in whole else {"tasks"}
    if not isinstance(whole, dict) or set(whole) - sections:
        sentence = "Begin with topic:, questions: and worked_out:, or with tasks:."
        bank.faults.append(_whole_file(path, 1, "S1", sentence))
        return
    _read_sections(path.name, whole, dict(_lines(root, "")), bank)


def _read_sections(name: str, whole: dict[str, Any], lines: dict[str, int], bank: BankFiles) -> None:
    topic = Topic.WORK_AREA
    if "tasks" not in whole:
        try:
            topic = topic_from(whole.get("topic"))
        except Refused as refused:
            bank.faults += _placed(name, "", refused.faults, lines)
            return
    readers = {"questions": _fixed, "worked_out": _worked_out, "tasks": _task}
    for section in (known for known in readers if known in whole):
        for where, row in _rows_of(section, whole[section], name, lines, bank):
            try:
                readers[section](name, row, lines.get(where, 1), topic, bank)
            except Refused as refused:
                bank.faults += _placed(name, where, refused.faults, lines)


def _rows_of(section: str, rows: Any, name: str, lines: dict[str, int], bank: BankFiles) -> Iterator[tuple[str, Any]]:
    """The entries of a section, each with its place; a section that is no list is a fault."""
    if not isinstance(rows, list):
        fault = Fault(section, "S3", "Give a list here, each entry with a dash; [] for none.")
        bank.faults += _placed(name, "", (fault,), lines)
        return
    for place, row in enumerate(rows, start=1):
        yield f"{section}[{place}]", row


def _fixed(name: str, row: dict[str, Any], line: int, topic: Topic, bank: BankFiles) -> None:
    question = question_from(row, topic)
    bank.entries.append(Entry(question=question, content=_jsonable(row), worked_out="", file=name, line=line))


def _worked_out(name: str, row: dict[str, Any], line: int, topic: Topic, bank: BankFiles) -> None:
    entry: WorkedOut = worked_out_from(row)
    if entry.generator not in GENERATORS:
        known = ", ".join(sorted(GENERATORS))
        raise Refused([Fault("generator", "S4", f"There is no generator {entry.generator}. Known: {known}.")])
    drawn = draw(entry.generator, 1, id=entry.id, review_by=entry.review_by)
    if drawn.topic is not topic:
        sentence = f"{entry.generator} draws questions of {drawn.topic}: list it in that topic's file."
        raise Refused([Fault("generator", "S6", sentence)])
    bank.entries.append(Entry(question=drawn, content=_jsonable(row), worked_out=entry.generator, file=name, line=line))


def _task(name: str, row: dict[str, Any], line: int, topic: Topic, bank: BankFiles) -> None:
    bank.tasks.append(TaskEntry(task=task_from(row), content=_jsonable(row), file=name, line=line))


def _check_ids(bank: BankFiles) -> None:
    """One fault for every id that stands in the bank already."""
    placed: list[tuple[str, Entry | TaskEntry]] = [(entry.question.id, entry) for entry in bank.entries]
    placed += [(entry.task.id, entry) for entry in bank.tasks]
    first: dict[str, Entry | TaskEntry] = {}
    for ident, entry in placed:
        before = first.setdefault(ident, entry)
        if before is not entry:
            sentence = f"This id stands in {before.file} line {before.line} already. Give one of them another."
            bank.faults.append(FileFault(file=entry.file, line=entry.line, rule="S8", where=ident, sentence=sentence))


def _lint(bank: BankFiles) -> None:
    """Lint fixed questions as a bank, worked-out ones by one draw; key positions are the fixed ones' business."""
    placed = {entry.question.id: entry for entry in bank.entries}
    findings = lint_bank([entry.question for entry in bank.entries if not entry.worked_out])
    findings += [finding for entry in bank.entries if entry.worked_out for finding in lint_question(entry.question)]
    bank.faults += [_linted(finding, placed.get(finding.question)) for finding in findings]


def _linted(finding: Finding, entry: Entry | None) -> FileFault:
    return FileFault(
        file=entry.file if entry else "the bank",
        line=entry.line if entry else 1,
        rule=finding.rule,
        where=finding.question,
        sentence=finding.sentence,
        is_error=finding.level is Level.ERROR,
    )


def _placed(name: str, where: str, faults: tuple[Fault, ...], lines: dict[str, int]) -> Iterator[FileFault]:
    for fault in faults:
        path = f"{where}.{fault.field}" if where and fault.field else where or fault.field
        yield FileFault(file=name, line=_line_of(path, lines), rule=fault.rule, where=path, sentence=fault.sentence)


def _line_of(path: str, lines: dict[str, int]) -> int:
    """The line of a field, or of the nearest thing around it when the field is missing."""
    while path and path not in lines:
        path = path.rpartition(".")[0]
    return lines.get(path, 1)


def _lines(node: yaml.Node | None, path: str) -> Iterator[tuple[str, int]]:
    if node is None:
        return
    yield path, node.start_mark.line + 1
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            inner = f"{path}.{key.value}" if path else str(key.value)
            yield from _lines(value, inner)
    elif isinstance(node, yaml.SequenceNode):
        for place, value in enumerate(node.value, start=1):
            yield from _lines(value, f"{path}[{place}]")


def _jsonable(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: _jsonable(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_jsonable(inner) for inner in value]
    return value

"""Drawn questions have one right answer, and a second solver that reads only their text agrees with it."""

from __future__ import annotations

import ast
import itertools
import random
import re
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.questions import solver, solver_kit, solver_sums, solver_texts
from tests.core.questions.solver import SOLVERS
from training.core.questions.figures import figure_in
from training.core.questions.kinds import Consequence, Kind, Question, Regime, Topic
from training.core.questions.lint import lint_question
from training.core.questions.marking import mark, right_keys, shown_order
from training.core.questions.variants import GENERATORS, DrawFailed, UnknownGenerator, draw
from training.core.questions.variants.drawn import Choice, day_text, figure, pick_one, plain

SEEDS = range(50)
NAMES = sorted(GENERATORS)
FIGURE = re.compile(r"\d+(?: \d{3})*(?:\.\d+)?")
BRANDED = re.compile(
    r"\b(tesla|toyota|prius|nissan|leaf|bmw|audi|vw|volkswagen|renault|zoe|hyundai|kia|ford|fluke)\b", re.I
)


def drawn(name: str, seed: int) -> Question:
    return draw(name, seed, id=name.replace("_", "-"), review_by=date(2027, 11, 30))


def answer_of(question: Question) -> tuple[str, ...] | float:
    """What the second solver answers, as a response that can be marked."""
    assert question.worked_out
    solved = SOLVERS[question.worked_out](question)
    if isinstance(solved, float):
        return solved
    texts = solved if isinstance(solved, list) else [solved]
    keys = {option.text: option.key for option in question.options}
    return tuple(keys[text] for text in texts)


@pytest.mark.parametrize("name", NAMES)
def test_a_second_solver_agrees_with_every_draw(name: str) -> None:
    disagreeing = [seed for seed in SEEDS if not mark(drawn(name, seed), answer_of(drawn(name, seed)))]
    assert disagreeing == []


@pytest.mark.parametrize("name", [name for name in NAMES if drawn(name, 0).kind is Kind.WORK_OUT])
def test_a_worked_out_number_lies_well_inside_its_tolerance(name: str) -> None:
    for seed in SEEDS:
        question, solved = drawn(name, seed), answer_of(drawn(name, seed))
        assert question.number
        assert isinstance(solved, float)
        assert abs(question.number.value - solved) <= 0.25 * question.number.tolerance
        assert not mark(question, solved + 1.5 * question.number.tolerance)


@pytest.mark.parametrize("name", [name for name in NAMES if drawn(name, 0).kind is Kind.PICK_ONE])
def test_a_draw_has_exactly_one_right_option_and_no_two_alike(name: str) -> None:
    for seed in SEEDS:
        options = drawn(name, seed).options
        assert sum(option.right for option in options) == 1
        assert len(options) == 3
        assert len({option.text.casefold() for option in options}) == 3
        sizes = [(size.low, size.unit) for option in options if (size := figure_in(option.text))]
        assert len(set(sizes)) == len(sizes)


@pytest.mark.parametrize("name", [name for name in NAMES if drawn(name, 0).kind is Kind.PICK_ALL])
def test_a_pick_all_draw_has_right_and_wrong_options_and_no_two_alike(name: str) -> None:
    for seed in SEEDS:
        options = drawn(name, seed).options
        assert {option.right for option in options} == {True, False}
        assert len({option.text.casefold() for option in options}) == len(options) == 4


def faults_of(question: Question) -> list[str]:
    """Everything that may not be in a drawn question, seen once more over many seeds."""
    figures = [(size.low, size.unit) for option in question.options if (size := figure_in(option.text))]
    faults = {
        "the second solver disagrees": not mark(question, answer_of(question)),
        "not exactly one option is right": question.kind is Kind.PICK_ONE and len(right_keys(question)) != 1,
        "two options say the same": len({option.text.casefold() for option in question.options})
        < len(question.options),
        "two figures are the same": len(set(figures)) < len(figures),
        "the lint finds something": bool(lint_question(question)),
    }
    return [fault for fault, found in faults.items() if found]


@pytest.mark.deep
@pytest.mark.parametrize("name", NAMES)
def test_a_thousand_draws_have_no_fault(name: str, record_property: Callable[[str, object], None]) -> None:
    record_property("cases", 1000)
    found = {seed: faults for seed in range(1000) if (faults := faults_of(drawn(name, seed)))}
    assert found == {}


@pytest.mark.parametrize("name", NAMES)
def test_the_picture_has_no_figure_that_the_question_does_not_give(name: str) -> None:
    for seed in SEEDS:
        question = drawn(name, seed)
        root = ET.fromstring(question.picture or "")
        shown = " | ".join(words.text or "" for words in root.iter("{http://www.w3.org/2000/svg}text"))
        said = " | ".join([question.situation, question.stem, *(option.text for option in question.options)])
        assert set(FIGURE.findall(shown)) <= set(FIGURE.findall(said))


@pytest.mark.parametrize("name", NAMES)
def test_the_same_seed_gives_the_same_question(name: str) -> None:
    assert all(drawn(name, seed) == drawn(name, seed) for seed in SEEDS)


@pytest.mark.parametrize("name", NAMES)
def test_other_seeds_give_other_numbers(name: str) -> None:
    different = {(question.situation, question.options) for question in (drawn(name, seed) for seed in SEEDS)}
    assert len(different) >= 35


@pytest.mark.parametrize("name", NAMES)
def test_a_draw_breaks_no_lint_rule(name: str) -> None:
    found = Counter(finding.rule for seed in SEEDS for finding in lint_question(drawn(name, seed)))
    assert found == {}


@pytest.mark.parametrize("name", NAMES)
def test_every_option_has_a_reason_of_its_own_and_every_draw_a_source(name: str) -> None:
    for seed in SEEDS:
        question = drawn(name, seed)
        reasons = [option.reason for option in question.options] or [question.number and question.number.reason or ""]
        assert all(len(reason.split()) >= 4 and reason.endswith(".") for reason in reasons)
        assert question.sources
        assert all(question.sources)


@pytest.mark.parametrize("name", NAMES)
def test_the_picture_is_well_formed_and_said_in_words(name: str) -> None:
    for seed in SEEDS:
        question = drawn(name, seed)
        assert question.picture
        root = ET.fromstring(question.picture)
        assert root.tag.endswith("svg")
        assert root.attrib["viewBox"].startswith("0 0 340 ")
        assert root.attrib["stroke"] == "currentColor"
        assert question.picture_text
        assert question.picture_text.endswith(".")


@pytest.mark.parametrize("name", NAMES)
def test_letters_and_boxes_of_a_picture_lie_within_it(name: str) -> None:
    for seed in SEEDS:
        root = ET.fromstring(drawn(name, seed).picture or "")
        width, height = (float(side) for side in root.attrib["viewBox"].split()[2:])
        for words in root.iter("{http://www.w3.org/2000/svg}text"):
            x, length = float(words.attrib["x"]), 7.4 * len(words.text or "")
            left = x - length * {"start": 0.0, "middle": 0.5, "end": 1.0}[words.attrib["text-anchor"]]
            assert left >= 0
            assert left + length <= width
            assert 0 < float(words.attrib["y"]) <= height
        for shape in root.iter("{http://www.w3.org/2000/svg}rect"):
            assert float(shape.attrib["y"]) + float(shape.attrib["height"]) <= height


@pytest.mark.parametrize("name", NAMES)
def test_no_draw_names_a_brand(name: str) -> None:
    assert not any(BRANDED.search(f"{drawn(name, seed).situation} {drawn(name, seed).picture}") for seed in SEEDS)


@pytest.mark.parametrize("name", [name for name in NAMES if drawn(name, 0).kind is Kind.PICK_ONE])
def test_the_right_option_cannot_be_guessed_by_its_place(name: str) -> None:
    questions = [drawn(name, seed) for seed in range(120)]
    places = Counter(shown_order(each, seed).index(right_keys(each)[0]) for seed, each in enumerate(questions))
    assert max(places.values()) <= 0.75 * len(questions)


def test_the_second_solver_knows_every_generator_and_nothing_of_the_trade_core() -> None:
    assert set(SOLVERS) == set(GENERATORS)
    for part in (solver, solver_kit, solver_sums, solver_texts):
        tree = ast.parse(Path(part.__file__).read_text(encoding="utf-8"))
        modules = [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
        modules += [name.name for node in ast.walk(tree) if isinstance(node, ast.Import) for name in node.names]
        ours = {module for module in modules if module.startswith("training")}
        assert ours == {"training.core.questions.kinds"}


def test_there_are_enough_generators_of_each_sort() -> None:
    kinds = Counter(drawn(name, 0).kind for name in NAMES)
    assert len(NAMES) >= 32
    assert kinds[Kind.WORK_OUT] >= 10
    assert kinds[Kind.PUT_IN_ORDER] >= 1
    assert kinds[Kind.PICK_ALL] >= 2
    assert {drawn(name, 0).topic for name in NAMES} == set(Topic)
    assert {drawn(name, 0).consequence for name in NAMES} == set(Consequence)


def test_a_draw_keeps_topic_kind_and_regime_whatever_the_seed() -> None:
    for name in NAMES:
        fixed = {(q.topic, q.kind, q.consequence, q.regime) for q in (drawn(name, seed) for seed in SEEDS)}
        assert len(fixed) == 1


def test_a_quarantine_draw_belongs_to_its_regime() -> None:
    assert drawn("quarantine_place_us", 3).regime is Regime.US
    assert drawn("quarantine_place_eu", 3).regime is Regime.EU
    assert drawn("quarantine_place_eu", 3).topic is Topic.BATTERY


def test_a_draw_carries_the_papers_given_to_it() -> None:
    question = draw("glove_due_date", 7, id="glove-due-date", review_by=date(2028, 1, 1))
    assert (question.id, question.worked_out, question.seed) == ("glove-due-date", "glove_due_date", 7)
    assert (question.review_by, question.author, question.checker) == (date(2028, 1, 1), "Hookside", "")


def test_an_unknown_generator_is_named_with_those_there_are() -> None:
    with pytest.raises(UnknownGenerator, match="glove_due_date"):
        draw("glove_due", 1, id="x")


@given(st.sampled_from(NAMES), st.integers(min_value=-(2**63), max_value=2**63))
def test_any_seed_makes_a_question_that_the_second_solver_answers(name: str, seed: int) -> None:
    question = drawn(name, seed)
    assert mark(question, answer_of(question))


def test_wrong_options_equal_to_the_right_one_are_left_out() -> None:
    right, *wrong = (Choice(text, "Because.") for text in ("500 V", "0.5 kV", "1 000 V", "1 kV", "2 kV", "3 kV"))
    assert [option.text for option in pick_one(random.Random(1), right, wrong)] == ["500 V", "1 000 V", "2 kV"]
    with pytest.raises(DrawFailed):
        pick_one(random.Random(1), right, wrong[:3])


# OSHA letter 2020-08-19: tested 2016-01-01, issued 2016-10-01, out of service by 2017-01-01.
def test_the_second_solver_agrees_with_the_published_glove_dates() -> None:
    assert solver._glove_limit(date(2016, 1, 1), date(2016, 10, 1)) == date(2017, 1, 1)


# Trade facts, pad vector 1: 2 200 kg, centre of gravity 1.508 m, pads 0.45 and 2.30 m: 470.92 and 629.08 kg.
def test_the_second_solver_agrees_with_the_pad_vector() -> None:
    assert solver._pads(2200, 1.508, 0.45, 2.30) == (pytest.approx(470.92, abs=0.01), pytest.approx(629.08, abs=0.01))


def test_figures_are_printed_with_spaces_and_no_needless_digits() -> None:
    assert [figure(1258.16, 1), plain(1258.5), plain(0.2), plain(15000), day_text(date(2026, 3, 3))] == [
        "1 258.2",
        "1 258.5",
        "0.2",
        "15 000",
        "3 Mar 2026",
    ]


def test_steps_of_an_isolation_come_in_the_one_order_that_is_right() -> None:
    question = drawn("isolation_order", 5)
    rights = [keys for keys in itertools.permutations("abcde") if mark(question, keys)]
    assert rights == [answer_of(question)]

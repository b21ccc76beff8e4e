"""Item statistics: the numbers of competence rules section 11, laws, and agreement with scipy and numpy."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from training.core.questions.kinds import Consequence
from training.core.questions.statistics import (
    Advice,
    BadScores,
    Interval,
    Scores,
    Weight,
    advice_on,
    corrected_point_biserial,
    correlation_interval,
    cronbach_alpha,
    d_from_counts,
    d_index,
    difficulty,
    distractor_efficiency,
    distractor_use,
    item_statistics,
    kr20,
    kr21,
    normal_interval,
    point_biserial,
    right_or_wrong,
    scores_from,
    spearman_brown,
    standard_error,
    standard_error_of_measurement,
    totals,
    uncorrected_point_biserial,
    weight_of,
    wilson_interval,
)

# Competence rules section 11: 10 people, 10 questions, a published teaching set.
ROWS = [
    *("1111110110", "1011011101", "1111011001", "0010001000", "0000010010"),
    *("1110111111", "1101110111", "1111111101", "0101111101", "1101101110"),
]
PUBLISHED = right_or_wrong([[float(mark) for mark in row] for row in ROWS])
UNCORRECTED = (0.7946, 0.7946, 0.2027, 0.6140, 0.7095, 0.4345, 0.1625, 0.7946, 0.0828, 0.6251)
CORRECTED = (0.7059, 0.7059, 0.0000, 0.4736, 0.5839, 0.2861, -0.0274, 0.7059, -0.1236, 0.4759)

tables = st.integers(2, 7).flatmap(
    lambda width: st.lists(st.lists(st.sampled_from([0.0, 1.0]), min_size=width, max_size=width), min_size=2)
)


# ---------------------------------------------------------------- the published set
def test_totals_and_difficulty_are_those_of_the_published_set() -> None:
    assert totals(PUBLISHED) == (8, 7, 7, 2, 2, 9, 8, 9, 7, 7)
    assert difficulty(PUBLISHED) == pytest.approx((0.7, 0.7, 0.6, 0.7, 0.6, 0.8, 0.7, 0.7, 0.5, 0.6))
    shares = difficulty(PUBLISHED)
    assert (np.mean(totals(PUBLISHED)), np.var(totals(PUBLISHED))) == pytest.approx((6.6, 5.84))
    assert sum(share * (1 - share) for share in shares) == pytest.approx(2.18)


def test_reliability_is_that_of_the_published_set() -> None:
    assert kr20(PUBLISHED) == pytest.approx(0.6963, abs=5e-5)
    assert cronbach_alpha(PUBLISHED) == pytest.approx(0.6963, abs=5e-5)
    assert kr21(PUBLISHED) == pytest.approx(0.6842, abs=5e-5)
    assert standard_error_of_measurement(PUBLISHED) == pytest.approx(1.3317, abs=5e-5)


def test_kr20_does_not_mix_population_and_sample_variance() -> None:
    mixed = 10 / 9 * (1 - 2.18 / float(np.var(totals(PUBLISHED), ddof=1)))
    assert mixed == pytest.approx(0.7378, abs=5e-5)
    assert kr20(PUBLISHED) != pytest.approx(mixed, abs=0.01)


@pytest.mark.parametrize("question", range(10))
def test_point_biserials_are_those_of_the_published_set(question: int) -> None:
    assert uncorrected_point_biserial(PUBLISHED, question) == pytest.approx(UNCORRECTED[question], abs=5e-5)
    assert corrected_point_biserial(PUBLISHED, question) == pytest.approx(CORRECTED[question], abs=5e-5)


def test_only_the_corrected_figure_finds_the_three_bad_questions() -> None:
    corrected = [corrected_point_biserial(PUBLISHED, n) or 0.0 for n in range(10)]
    assert [n + 1 for n, figure in enumerate(corrected) if figure < 1e-9] == [3, 7, 9]
    assert min(UNCORRECTED) > 0


def test_item_one_by_hand() -> None:
    by_hand = (7.857 - 3.667) / 2.4166 * math.sqrt(0.21)
    assert uncorrected_point_biserial(PUBLISHED, 0) == pytest.approx(by_hand, abs=1e-4)


def test_longer_sets_by_spearman_and_brown() -> None:
    assert spearman_brown(0.6963, 2) == pytest.approx(0.8210, abs=5e-5)
    assert spearman_brown(0.6963, 3) == pytest.approx(0.8731, abs=5e-5)
    assert spearman_brown(spearman_brown(0.6, 2), 0.5) == pytest.approx(0.6)


# ---------------------------------------------------------------- D and its tie rule
def test_d_is_the_difference_of_the_groups_over_their_size() -> None:
    assert d_from_counts(14, 6, 16) == 0.5


def test_people_tied_at_the_edge_share_the_remaining_places() -> None:
    # On the second question. Upper three of totals 9 9 | 8 8: F and H, and half each of A and G, tied at 8.
    # Lower three of 2 2 | 7 7 7 7: D and E, and a quarter each of B, C, I and J, tied at 7.
    marks = {person: int(row[1]) for person, row in zip("ABCDEFGHIJ", ROWS, strict=True)}
    upper = marks["F"] + marks["H"] + (marks["A"] + marks["G"]) / 2
    lower = marks["D"] + marks["E"] + (marks["B"] + marks["C"] + marks["I"] + marks["J"]) / 4
    assert d_index(PUBLISHED, 1) == pytest.approx((upper - lower) / 3)


@given(st.permutations(range(10)), st.integers(0, 9))
def test_the_order_of_people_does_not_change_d(order: list[int], question: int) -> None:
    assert d_index(PUBLISHED[order], question) == pytest.approx(d_index(PUBLISHED, question))


@given(tables, st.floats(0.05, 0.5))
def test_d_lies_between_minus_one_and_one(rows: list[list[float]], share: float) -> None:
    assert -1 <= d_index(right_or_wrong(rows), 0, share) <= 1


# ---------------------------------------------------------------- wrong options
def test_two_of_three_wrong_options_work_in_the_published_case() -> None:
    used = distractor_use({"a": 39, "b": 12, "c": 7, "d": 2}, "a")
    assert sum({"a": 39, "b": 12, "c": 7, "d": 2}.values()) == 60
    assert [(each.key, each.works) for each in used] == [("b", True), ("c", True), ("d", False)]
    assert [round(100 * each.share, 1) for each in used] == [20.0, 11.7, 3.3]
    assert distractor_efficiency(used) == pytest.approx(2 / 3)


def test_a_wrong_option_that_the_best_choose_does_not_work() -> None:
    used = distractor_use({"a": 39, "b": 12, "c": 9}, "a", {"b": -0.3, "c": 0.2})
    assert [each.works for each in used] == [True, False]


def test_a_wrong_option_of_unknown_discrimination_is_judged_by_its_share() -> None:
    assert [each.works for each in distractor_use({"a": 10, "b": 5}, "a", {"b": None})] == [True]


# ---------------------------------------------------------------- honesty about few answers
def test_twelve_answers_say_little() -> None:
    assert standard_error(0.7, 12) == pytest.approx(0.132, abs=5e-4)
    interval = normal_interval(0.7, 12)
    assert (interval.high - interval.low) / 2 == pytest.approx(0.26, abs=5e-3)


def test_a_correlation_over_ten_people_says_little() -> None:
    interval = correlation_interval(0.45, 10)
    assert interval
    assert (round(interval.low, 2), round(interval.high, 2)) == (-0.25, 0.84)


@pytest.mark.parametrize(
    ("answers", "weight"),
    [(0, Weight.HIDE), (29, Weight.HIDE), (30, Weight.SHOW), (99, Weight.SHOW), (100, Weight.ACT)],
)
def test_figures_are_shown_from_30_and_acted_on_from_100_answers(answers: int, weight: Weight) -> None:
    assert weight_of(answers) is weight


@given(st.integers(0, 10_000), st.floats(0, 1), st.none() | st.floats(-1, 1))
def test_statistics_alone_never_take_a_life_question_out(answers: int, share: float, parts: float | None) -> None:
    assert advice_on(answers, share, parts, Consequence.LIFE) is not Advice.MEND


@given(st.integers(0, 99), st.floats(0, 1), st.none() | st.floats(-1, 1), st.sampled_from(Consequence))
def test_below_100_answers_the_advice_is_to_wait(
    answers: int, share: float, parts: float | None, consequence: Consequence
) -> None:
    assert advice_on(answers, share, parts, consequence) is Advice.WAIT


@pytest.mark.parametrize(
    ("share", "parts", "consequence", "advice"),
    [
        (0.98, 0.0, Consequence.LIFE, Advice.KEEP),
        (1.0, None, Consequence.LIFE, Advice.KEEP),
        (0.9, -0.1, Consequence.LIFE, Advice.LOOK),
        (0.2, 0.4, Consequence.LIFE, Advice.LOOK),
        (0.7, -0.1, Consequence.DAMAGE, Advice.MEND),
        (0.7, 0.0, Consequence.INJURY, Advice.LOOK),
        (1.0, None, Consequence.INJURY, Advice.LOOK),
        (0.7, 0.4, Consequence.INJURY, Advice.KEEP),
    ],
)
def test_what_a_hundred_answers_advise(
    share: float, parts: float | None, consequence: Consequence, advice: Advice
) -> None:
    assert advice_on(100, share, parts, consequence) is advice


def test_a_question_that_everybody_has_right_has_no_correlation() -> None:
    table = right_or_wrong([[1, 1, 0], [1, 0, 1], [1, 0, 0], [1, 1, 1]])
    assert corrected_point_biserial(table, 0) is None
    assert uncorrected_point_biserial(table, 0) is None
    figures = item_statistics(table, 0, Consequence.LIFE)
    assert (figures.discrimination, figures.discrimination_interval, figures.share_right) == (None, None, 1.0)


def test_where_all_totals_are_alike_there_is_no_reliability() -> None:
    table = right_or_wrong([[1, 0], [0, 1], [1, 0]])
    assert (kr20(table), kr21(table), cronbach_alpha(table), standard_error_of_measurement(table)) == (None,) * 4


def test_the_figures_of_a_question_stand_together() -> None:
    figures = item_statistics(PUBLISHED, 6, Consequence.INJURY)
    assert figures.discrimination == pytest.approx(-0.0274, abs=5e-5)
    assert figures.uncorrected == pytest.approx(0.1625, abs=5e-5)
    assert (figures.answers, figures.weight, figures.advice) == (10, Weight.HIDE, Advice.WAIT)
    assert figures.share_interval.low < figures.share_right < figures.share_interval.high


# ---------------------------------------------------------------- against scipy and numpy
@given(tables)
def test_point_biserials_agree_with_scipy(rows: list[list[float]]) -> None:
    table = right_or_wrong(rows)
    rest = table.sum(axis=1) - table[:, 0]
    ours = corrected_point_biserial(table, 0)
    if len(set(table[:, 0])) == 1 or len(set(rest)) == 1:
        assert ours is None
    else:
        assert ours == pytest.approx(stats.pointbiserialr(table[:, 0], rest).statistic, abs=1e-9)


@given(tables)
def test_alpha_agrees_with_numpys_covariances(rows: list[list[float]]) -> None:
    table = right_or_wrong(rows)
    covariance = np.cov(table, rowvar=False)
    assume(covariance.sum() > 1e-9)
    width = table.shape[1]
    wanted = width / (width - 1) * (1 - np.trace(covariance) / covariance.sum())
    assert cronbach_alpha(table) == pytest.approx(wanted, abs=1e-9)


@given(tables)
def test_kr21_is_never_above_kr20(rows: list[list[float]]) -> None:
    table = right_or_wrong(rows)
    higher, lower = kr20(table), kr21(table)
    if higher is None or lower is None:
        assert higher == lower
    else:
        assert lower <= higher + 1e-9


@given(st.integers(0, 200), st.integers(1, 200), st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_wilsons_interval_agrees_with_scipy(right: int, answers: int, confidence: float) -> None:
    assume(right <= answers)
    wanted = stats.binomtest(right, answers).proportion_ci(confidence, method="wilson")
    ours = wilson_interval(right, answers, confidence)
    assert (ours.low, ours.high) == pytest.approx((wanted.low, wanted.high), abs=1e-12)
    assert 0 <= ours.low <= right / answers <= ours.high <= 1


@given(st.integers(0, 200), st.integers(1, 200))
def test_the_normal_interval_agrees_with_scipy_and_stays_within_0_and_1(right: int, answers: int) -> None:
    assume(right <= answers)
    share, error = right / answers, standard_error(right / answers, answers)
    low, high = stats.norm.interval(0.95, share, error) if error else (share, share)
    assert normal_interval(share, answers) == Interval(
        pytest.approx(max(0, low), abs=1e-12), pytest.approx(min(1, high), abs=1e-12)
    )


@pytest.mark.parametrize("seed", range(20))
def test_the_interval_of_a_correlation_agrees_with_scipy(seed: int) -> None:
    chance = random.Random(seed)
    one = [chance.gauss(0, 1) for _ in range(12)]
    other = [value + chance.gauss(0, 1) for value in one]
    wanted = stats.pearsonr(one, other)
    interval = correlation_interval(float(wanted.statistic), 12)
    assert interval
    low, high = wanted.confidence_interval(0.95)
    assert (interval.low, interval.high) == pytest.approx((low, high), abs=1e-12)


def test_a_correlation_of_one_or_of_three_people_has_its_own_answer() -> None:
    assert correlation_interval(1.0, 10) == Interval(1.0, 1.0)
    assert correlation_interval(0.5, 3) is None
    assert correlation_interval(None, 50) is None


# ---------------------------------------------------------------- what is refused
@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([], "no scores"),
        ([[]], "no scores"),
        ([[1, 0], [1]], "more scores than others"),
        ([[1, math.nan]], "no numbers"),
    ],
)
def test_tables_that_cannot_be_read_are_refused(rows: list[list[float]], said: str) -> None:
    with pytest.raises(BadScores, match=said):
        scores_from(rows)


def _table_of_points() -> Scores:
    return scores_from([[2.0, 1.0], [0.5, 0.0]])


def test_points_are_for_alpha_and_not_for_kr20() -> None:
    assert cronbach_alpha(_table_of_points()) == pytest.approx(0.96)
    with pytest.raises(BadScores, match="alpha"):
        kr20(_table_of_points())
    with pytest.raises(BadScores, match="neither 1"):
        right_or_wrong([[2.0, 1.0]])


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: kr20(right_or_wrong([[1], [0]])),
        lambda: spearman_brown(-0.9, 3),
        lambda: spearman_brown(0.5, 0),
        lambda: d_from_counts(5, 1, 4),
        lambda: d_index(PUBLISHED, 0, 0.6),
        lambda: distractor_use({"a": 0, "b": 0}, "a"),
        lambda: distractor_use({"b": 3}, "a"),
        lambda: distractor_efficiency([]),
        lambda: wilson_interval(3, 2),
        lambda: wilson_interval(0, 0),
        lambda: wilson_interval(1, 2, 1.0),
        lambda: standard_error(1.2, 5),
        lambda: correlation_interval(1.2, 9),
        lambda: point_biserial([1.0], [1.0, 2.0]),
    ],
)
def test_what_nothing_can_be_computed_from_is_refused(wrong: object) -> None:
    assert callable(wrong)
    with pytest.raises(BadScores, match=r"^[A-Z].*\.$"):
        wrong()

"""How the simulated crew forgets: met against published group means, and never more known by time alone."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.core.memory.test_published_means import NO_GAP, NODES, PUBLISHED, START_OF_SESSION_2, TRIALS_APART, WEIGHTS
from training.core.memory.simulation.truth import FITTED, Traces

PANELS = dict(zip("abcd", FITTED.group_offs, strict=True))
GAPS = (0, 1, 2, 3, 4, 5, 7, 9, 11, 15, 20, 25, 30, 40, 60, 80)


class Mixed(Traces):
    """Traces laid by a trial whose outcome is averaged over: right and wrong in the shares of recall."""

    def trial(self, day):
        rows = np.arange(len(self.off))
        recalled = self.recall(day)
        active = self._activation(day, rows)
        decay = self.how.crowding * np.exp(active) + self.how.least_decay
        self._put(rows, day, decay, recalled + (1.0 - recalled) * self.how.not_recalled)


def group_mean(panel, gap_days, delay_days):
    """Session 1: read, one right recall. Session 2: two trials with feedback. Then the test; spread 1."""
    truth = Mixed(PANELS[panel] + NODES)
    rows = np.arange(len(NODES))
    truth._put(rows, 0.0, np.full(len(NODES), FITTED.least_decay), np.full(len(NODES), FITTED.only_read))
    for row in rows:
        truth.show(int(row), TRIALS_APART, recalled=True)
    at = TRIALS_APART + max(gap_days, NO_GAP)
    if delay_days is not START_OF_SESSION_2:
        truth.trial(at)
        at += TRIALS_APART
        truth.trial(at)
        at += delay_days
    return float(truth.recall(at) @ WEIGHTS / WEIGHTS.sum())


def test_the_62_published_means_are_met_within_five_points_in_a_hundred():
    errors = [
        group_mean(panel, gap, delay) - recalled / 100
        for (panel, delay), means in PUBLISHED.items()
        for gap, recalled in means.items()
    ]
    off_by = math.sqrt(sum(error * error for error in errors) / len(errors))
    print(f"\n{len(errors)} means, root mean square error {off_by:.4f}")
    assert len(errors) == 62
    assert off_by <= 0.05


def test_the_best_gap_grows_with_the_delay_and_shrinks_as_a_share_of_it():
    delays = (7, 35, 70, 350)
    best = [max(GAPS, key=lambda gap: group_mean("d", gap, delay)) for delay in delays]
    assert best == sorted(best)
    assert best[0] < best[-1]
    assert best[-1] / delays[-1] < best[0] / delays[0]


@pytest.mark.parametrize("recalled", [True, False])
def test_recall_never_rises_with_time_alone_and_an_answer_never_lowers_it(recalled):
    truth = Traces(np.array([-1.0, 0.5, 2.0]))
    truth.knew(np.array([0.1, 0.5, 0.9]), 0.0, 365.0)
    for day in (0.3, 1.3, 8.3, 40.3):
        before = truth.recall(day + 0.2)
        for row in range(3):
            truth.show(row, day, recalled=recalled)
        after = [truth.recall(day + later) for later in (0.2, 1.0, 7.0, 60.0)]
        assert (after[0] >= before).all()
        assert all((sooner >= later).all() for sooner, later in zip(after, after[1:], strict=False))


def test_what_was_known_before_is_recalled_as_drawn():
    truth = Traces(np.array([0.0, 1.5]), decay_factor=1.3)
    truth.knew(np.array([0.2, 0.8]), 0.0, 365.0)
    assert truth.recall(0.0) == pytest.approx([0.2, 0.8])


def test_a_question_never_shown_is_not_known():
    assert Traces(np.zeros(2)).recall(10.0) == pytest.approx([0.0, 0.0])

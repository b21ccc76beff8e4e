"""Recall by gap and delay against published group means: the closest thing here to months of real forgetting.

Means in per cent as the memory model's section 11 prints them, read off the figures of Cepeda et al. 2008
(Psychological Science 19, 1095-1102; panel d) and 2009 (Experimental Psychology 56, 236-246; panels a, b, c).
Protocol and the four means of ability: its sections 4 and 9. Assumed here, since the page does not say: trials of one
session lie five minutes apart and a gap of 0 is ten minutes, both on the session clock. Ability spreads with sd 1
over people and questions.
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from training.core.memory.parameters import Parameters
from training.core.memory.steps import Hold, Shown, next_hold, recall_now

NO_SLIP = Parameters(slip=0.0)
MINUTE_DAYS = NO_SLIP.session_clock / 1440
TRIALS_APART, NO_GAP = 5 * MINUTE_DAYS, 10 * MINUTE_DAYS
MEAN_ABILITY = {"a": 0.17, "b": 2.30, "c": 0.64, "d": 1.82}
START_OF_SESSION_2 = None
# panel, delay (days; None: recall at the start of session 2): gap in days -> recall in per cent
PUBLISHED = {
    ("a", START_OF_SESSION_2): {0: 92.2, 1: 83.9, 2: 68.9, 4: 52.3, 7: 43.9, 14: 28.3},
    ("a", 10): {0: 55, 1: 74, 2: 69, 4: 68, 7: 69, 14: 65},
    ("b", START_OF_SESSION_2): {0: 96, 1: 92, 7: 79, 28: 48, 84: 28, 168: 22},
    ("b", 168): {0: 26, 1: 33, 7: 47, 28: 56, 84: 43, 168: 45},
    ("c", START_OF_SESSION_2): {0: 93, 1: 84, 7: 57, 28: 25, 84: 9, 168: 6},
    ("c", 168): {0: 8, 1: 9, 7: 14, 28: 26, 84: 19, 168: 17},
    ("d", 7): {0: 88.2, 1: 97.3, 2: 95, 7: 93.8, 21: 93.3, 105: 80.6},
    ("d", 35): {0: 51.7, 1: 68.9, 4: 73.9, 7: 79.9, 11: 81.9, 21: 75.9, 105: 59.1},
    ("d", 70): {0: 29.1, 1: 42.1, 7: 60.1, 14: 51.3, 21: 61.2, 105: 42.4},
    ("d", 350): {0: 12.4, 1: 12.5, 7: 14.7, 21: 21.9, 35: 19.9, 70: 20.6, 105: 13.3},
}
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(16)


@cache
def group_mean(panel: str, gap_days: float, delay_days: float | None) -> float:
    """Return the share recalled, averaged over the spread of ability."""
    at_nodes = [share_recalled(MEAN_ABILITY[panel] + node, max(gap_days, NO_GAP), delay_days) for node in NODES]
    return float(np.dot(at_nodes, WEIGHTS) / WEIGHTS.sum())


def share_recalled(off: float, gap_days: float, delay_days: float | None) -> float:
    """Session 1: read, one right recall. Session 2: two trials with feedback, whatever comes of them. Then the test."""
    right = Shown(right=True, chance_floor=0.0, off=off)
    after_1 = next_hold(Hold(NO_SLIP.first_read), TRIALS_APART, right, NO_SLIP)
    if delay_days is START_OF_SESSION_2:
        return recall_now(after_1.ln_hold, gap_days, off, 0.0, NO_SLIP)
    return sum(
        share * other * recall_now(twice.ln_hold, delay_days, off, 0.0, NO_SLIP)
        for once, share in both_outcomes(after_1, gap_days, off)
        for twice, other in both_outcomes(once, TRIALS_APART, off)
    )


def both_outcomes(hold: Hold, days: float, off: float):
    recalled = recall_now(hold.ln_hold, days, off, 0.0, NO_SLIP)
    for right, share in ((True, recalled), (False, 1 - recalled)):
        yield next_hold(hold, days, Shown(right=right, chance_floor=0.0, off=off), NO_SLIP), share


def best_gap(delay_days: float) -> float:
    return max((0, 1, 2, 3, 4, 5, 7, 9, 11, 15, 20, 25, 30, 40, 60), key=lambda gap: group_mean("d", gap, delay_days))


def test_the_62_published_means_are_met_within_six_points_in_a_hundred():
    errors = [
        group_mean(panel, gap, delay) - recalled / 100
        for (panel, delay), means in PUBLISHED.items()
        for gap, recalled in means.items()
    ]
    assert len(errors) == 62
    assert math.sqrt(sum(error * error for error in errors) / len(errors)) <= 0.060


def test_the_best_gap_rises_with_the_delay_and_falls_as_a_share_of_it():
    delays = (7, 35, 70, 350)
    gaps = [best_gap(delay) for delay in delays]
    shares = [gap / delay for gap, delay in zip(gaps, delays, strict=True)]
    assert gaps == sorted(set(gaps))
    assert shares == sorted(set(shares), reverse=True)

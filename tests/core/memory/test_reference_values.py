"""The rows A-J of the memory model's section 9, against the page and against an independent slow model."""

from __future__ import annotations

import pytest

from tests.core.memory import slow_model
from training.core.memory.parameters import Parameters
from training.core.memory.posterior import PersonMoments
from training.core.memory.recall import days_to, days_to_low, recall, recall_low
from training.core.memory.steps import Shown, first_hold, next_hold, recall_now

NO_SLIP = Parameters(slip=0.0)
LAGS = (1, 7, 30, 90)
# history (day, right), off, ln hold, recall at 1 / 7 / 30 / 90 d, days to .8, days to .9
ROWS = {
    "A": ([(0, 1)], 0.0, -6.777, (0.909879, 0.549344, 0.200409, 0.070574), 2.345311, 1.111659),
    "B": ([(0, 0)], 0.0, -7.466, (0.826903, 0.365671, 0.105962, 0.034662), 1.177529, 0.558139),
    "C": (
        [(0, 1), (1, 1), (7, 1), (30, 1)],
        0.0,
        -3.403646,
        (0.997387, 0.979364, 0.907369, 0.748107),
        68.427322,
        32.434003,
    ),
    "D": ([(0, 1), (3, 0), (4, 1)], 0.0, -6.073242, (0.955887, 0.723687, 0.350055, 0.140284), 4.740657, 2.247034),
    "E": ([(0, 1), (2, 1), (10, 1)], 0.8, -5.096295, (0.992852, 0.943968, 0.776087, 0.512238), 26.294166, 12.466725),
    "F": (
        [(0, 0), (1, 1), (2, 1), (9, 0)],
        -0.7,
        -5.263490,
        (0.962780, 0.758153, 0.392050, 0.163451),
        5.592995,
        2.649742,
    ),
}
ACT, ASK, PLAIN = (0.9, 0.35), (0.1, 0.65), (1.0, 1.0)
# memory model, section 9: history (day, right, k1 and k0), ln hold, recall at 7 d; g .25, slip .02
COMMITTED = {
    "G": ([(0, 1, ACT), (5, 1, ACT)], -5.039699, 0.889499),
    "H": ([(0, 1, ASK), (5, 1, ASK)], -6.186326, 0.698453),
    "I": ([(0, 0, ACT), (1, 1, ACT)], -6.443840, 0.636475),
    "J": ([(0, 1, PLAIN), (5, 1, PLAIN)], -5.199595, 0.871241),
}


def folded(history, off, parameters, chance_floor=0.0):
    hold, before, last = None, [], 0
    for day, right, (k1, k0) in history:
        shown = Shown(right=bool(right), chance_floor=chance_floor, off=off, k1=k1, k0=k0)
        before.append(recall_now(None if hold is None else hold.ln_hold, day - last, off, 0.0, parameters))
        hold = first_hold(shown, parameters) if hold is None else next_hold(hold, day - last, shown, parameters)
        last = day
    return hold, before


@pytest.mark.parametrize("row", ROWS)
def test_plain_histories_reach_the_printed_hold_recall_and_days(row):
    history, off, ln_hold, recalls, to_80, to_90 = ROWS[row]
    hold, _ = folded([(day, right, PLAIN) for day, right in history], off, NO_SLIP)
    assert hold.ln_hold == pytest.approx(ln_hold, abs=6e-7)
    assert recall(hold.ln_hold, LAGS, off=off) == pytest.approx(recalls, abs=6e-7)
    assert days_to(0.8, hold.ln_hold, off=off) == pytest.approx(to_80, abs=6e-7)
    assert days_to(0.9, hold.ln_hold, off=off) == pytest.approx(to_90, abs=6e-7)
    assert hold.var == 0.0


@pytest.mark.parametrize("row", COMMITTED)
def test_chance_floor_slip_and_commitment_reach_the_printed_hold(row):
    history, ln_hold, at_7_days = COMMITTED[row]
    hold, _ = folded(history, 0.0, Parameters(), chance_floor=0.25)
    assert hold.ln_hold == pytest.approx(ln_hold, abs=6e-7)
    assert recall(hold.ln_hold, 7) == pytest.approx(at_7_days, abs=6e-7)
    assert hold.var > 0.0


@pytest.mark.parametrize(
    ("row", "printed"),
    [("C", (0.5, 0.909879, 0.749513, 0.751972)), ("F", (0.331812, 0.703462, 0.927486, 0.747391))],
)
def test_recall_before_each_answer_is_as_printed(row, printed):
    history, off = ROWS[row][:2]
    _, before = folded([(day, right, PLAIN) for day, right in history], off, NO_SLIP)
    assert before == pytest.approx(printed, abs=6e-7)


@pytest.mark.parametrize(("variances", "printed"), [((0.7225, 0.36, 0), 12.697696), ((0.1, 0.2, 0), 25.471672)])
def test_lower_bound_days_of_history_c_are_as_printed_and_as_the_slow_model_finds(variances, printed):
    who = PersonMoments(var_ability=variances[0], var_fade=variances[1])
    hold, _ = folded([(day, right, PLAIN) for day, right in ROWS["C"][0]], 0.0, NO_SLIP)
    days = days_to_low(0.8, hold.ln_hold, who)
    assert days == pytest.approx(printed, abs=6e-7)
    assert days == pytest.approx(
        float(slow_model.days_to_low(0.8, slow_model.mp.mpf(hold.ln_hold), variances)), rel=1e-8
    )


@pytest.mark.parametrize("row", [*ROWS, *COMMITTED])
def test_the_slow_model_agrees_to_nine_digits(row):
    if row in ROWS:
        history, off = [(day, right, PLAIN) for day, right in ROWS[row][0]], ROWS[row][1]
        chance_floor, parameters = 0.0, NO_SLIP
    else:
        history, off, chance_floor, parameters = COMMITTED[row][0], 0.0, 0.25, Parameters()
    hold, before = folded(history, off, parameters, chance_floor)
    slow = slow_model.ln_hold_after(
        [(day, right, *k) for day, right, k in history], str(off), chance_floor, parameters.slip
    )
    assert hold.ln_hold == pytest.approx(float(slow[0]), abs=1e-9)
    assert before == pytest.approx([float(one) for one in slow[1]], abs=1e-9)
    assert hold.var == pytest.approx(float(slow[2]), abs=1e-9)
    assert days_to(0.8, hold.ln_hold, off=off) == pytest.approx(float(slow_model.days_to(0.8, slow[0], off)), rel=1e-9)


@pytest.mark.parametrize("days", [0, 0.01, 1, 40, 3000])
def test_the_band_agrees_with_the_slow_model(days):
    who = PersonMoments(ability=0.4, fade=-0.2, var_ability=0.3, var_fade=0.25, cov=-0.1)
    fast = recall_low(-4.2, days, who, easiness=0.5, ln_hold_var=0.2, easiness_var=0.7)
    slow = slow_model.low(slow_model.mp.mpf("-4.2"), days, 0.4, -0.2, (0.3, 0.25, -0.1), "0.3", 0.5, 0.7, 0.2)
    assert fast == pytest.approx(float(slow), abs=1e-12)

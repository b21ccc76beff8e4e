"""The recall model once more: slow, in 40 digits, straight from the equations, sharing no code with the product."""

from __future__ import annotations

from collections.abc import Sequence

import mpmath

mp = mpmath.mp.clone()
mp.dps = 40
B, F = mp.mpf("9.68"), mp.mpf("1.087")
L1R, L1W = mp.mpf("-6.777"), mp.mpf("-7.466")
CR, AR, CW, AW = mp.mpf("0.288"), mp.mpf("4.263"), mp.mpf("-0.067"), mp.mpf("0.476")


def sigma(logit):
    return 1 / (1 + mp.exp(-logit))


def recall(ln_hold, days, off, fade=0):
    return sigma(mp.mpf(off) + B - F * mp.log(1 + mp.mpf(days) * mp.exp(-ln_hold - mp.mpf(fade))))


def share(recalled, right, g, slip, k1=1, k0=1):
    g, slip, k1, k0 = (mp.mpf(str(x)) for x in (g, slip, k1, k0))
    if right:
        known, unknown = recalled * (1 - slip) * k1, (1 - recalled) * g * k0
    else:
        known, unknown = recalled * slip * k1, (1 - recalled) * (1 - g) * k0
    return known / (known + unknown)


def ln_hold_after(history: Sequence[tuple[float, bool, float, float]], off="0", g=0, slip=0):
    """Fold (day, right, k1, k0) into ln hold, the recall before each answer, and vL."""
    off, ln_hold, before, var, last = mp.mpf(off), None, [], mp.mpf(0), None
    for day, right, k1, k0 in history:
        recalled = sigma(off) if ln_hold is None else recall(ln_hold, mp.mpf(day) - last, off)
        before.append(recalled)
        r, q = share(recalled, right, g, slip, k1, k0), 1 - recalled
        up, down = (L1R, L1W) if ln_hold is None else (CR + AR * q, CW + AW * q)
        ln_hold = (ln_hold or 0) + r * up + (1 - r) * down
        var, last = var + r * (1 - r) * (up - down) ** 2, mp.mpf(day)
    return ln_hold, before, var


def days_to(target, ln_hold, off):
    target = mp.mpf(target)
    return mp.exp(ln_hold) * (mp.exp((mp.mpf(off) + B - mp.log(target / (1 - target))) / F) - 1)


def low(ln_hold, days, ability, fade, variances, pair="0.3", easiness=0, easiness_var=0, hold_var=0):
    va, vf, cov = (mp.mpf(x) for x in variances)
    x = mp.mpf(days) * mp.exp(-ln_hold - mp.mpf(fade))
    d = F * x / (1 + x)
    v = va + 2 * d * cov + d * d * (vf + mp.mpf(hold_var)) + mp.mpf(pair) ** 2 + mp.mpf(easiness_var)
    return sigma(mp.mpf(ability) + mp.mpf(easiness) + B - F * mp.log(1 + x) - mp.mpf("1.645") * mp.sqrt(v))


def days_to_low(target, ln_hold, variances):
    """Root of low(days) = target by plain halving."""
    left, right = mp.mpf(0), mp.mpf(10) ** 5
    for _ in range(140):
        middle = (left + right) / 2
        left, right = (middle, right) if low(ln_hold, middle, 0, 0, variances) > target else (left, middle)
    return left

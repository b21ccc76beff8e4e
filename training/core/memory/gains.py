"""What an answer now would buy, for many questions at once: chances and lower bounds at a horizon, as numpy columns.

The same equations as ``steps`` and ``gates``, at the person's present point, over arrays. One thing is simpler: where
answers have not moved a gate, its next hold is worked out from its base alone and not searched for over all holds above
it (``gates``), so a gain may be a little too high there. Nothing here is ever shown or gated.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import datetime
from itertools import chain
from struct import pack
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from training.core.memory.fold import Trace
from training.core.memory.gates import LEAST_DAYS, WRONG_RUN
from training.core.memory.parameters import DEFAULT, SESSION_DAYS, Parameters
from training.core.memory.posterior import PersonMoments
from training.core.memory.recall import chance_right, recall, recall_low, recall_mean
from training.core.memory.steps import SECONDS_PER_DAY

Column: TypeAlias = NDArray[np.float64]

_NAN: Final = float("nan")
_SESSION_S: Final = SESSION_DAYS * SECONDS_PER_DAY
_NEVER: Final = (_NAN, 0.0, _NAN, _NAN, 0.0, _NAN, _NAN, 1.0, 0.0, DEFAULT.sd_easiness**2, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """One value a question, all of shape (n,). Days back from now; ln days; NaN where there is nothing yet.

    ``held`` and ``held_var`` are the drill's, ``seen_days`` since the last answer of any kind; ``gate`` .. the gate's,
    ``base`` only where answers have not moved it; ``wrong_after`` is ``wrong_running`` were the answer now wrong.
    """

    held: Column
    held_var: Column
    seen_days: Column
    gate: Column
    gate_var: Column
    gate_days: Column
    base: Column
    wrong_after: Column
    easiness: Column
    easiness_var: Column
    wrong_running: Column
    chance_floor: Column


_IN_ROW: Final = tuple(part.name for part in fields(Columns))[:-1]


def columns(traces: Iterable[Trace | None], chance_floor: Column, at: datetime) -> Columns:
    """Gather the columns of these questions at ``at``; None: never answered."""
    asked = list(traces)
    table = np.repeat(np.array(_NEVER)[:, np.newaxis], len(asked), axis=1)
    known = [place for place, trace in enumerate(asked) if trace is not None]
    table[:, known] = table_of([_row(trace, at) for trace in asked if trace is not None], len(_NEVER))
    gathered = dict(zip(_IN_ROW, table, strict=True))
    for since in (gathered["seen_days"], gathered["gate_days"]):
        since /= SECONDS_PER_DAY
    # an answer dated later than now was given just now
    np.maximum(gathered["seen_days"], 0.0, out=gathered["seen_days"])
    return Columns(**gathered, chance_floor=chance_floor)


def table_of(rows: Sequence[tuple[float, ...]], width: int) -> Column:
    """Turn rows of so many values into as many columns."""
    packed = pack(f"{len(rows) * width}d", *chain.from_iterable(rows))  # half the time of numpy.fromiter
    return np.frombuffer(packed).reshape(-1, width).T.copy()


def chance_right_now(asked: Columns, who: PersonMoments, parameters: Parameters = DEFAULT) -> Column:
    """Return the chance of a right answer now; ``who`` are the drill's moments."""
    mean = recall_mean(
        asked.held,
        np.fmax(asked.seen_days, 0.0),
        who,
        easiness=asked.easiness,
        ln_hold_var=asked.held_var,
        easiness_var=asked.easiness_var,
        parameters=parameters,
    )
    return np.asarray(chance_right(mean, asked.chance_floor, parameters))


def low_without(
    asked: Columns, gate_who: PersonMoments, *ahead_days: float, parameters: Parameters = DEFAULT
) -> Column:
    """Return the gate's lower bounds so many days from now without an answer, a row for each; never right counts 0."""
    since = np.where(np.isnan(asked.gate_days), 0.0, asked.gate_days)
    days = since + np.array(ahead_days)[:, np.newaxis]
    low = _low(asked, asked.gate, asked.gate_var, days, gate_who, parameters)
    return np.where(np.isnan(asked.gate) | (asked.wrong_running >= WRONG_RUN), 0.0, low)


def low_after_wrong(asked: Columns, without: Column) -> Column:
    """Return the bound after a wrong answer now: what it is without one, 0 where that is the second running."""
    return np.where(asked.wrong_after >= WRONG_RUN, 0.0, without)


def low_after_right(
    asked: Columns,
    who: PersonMoments,
    gate_who: PersonMoments,
    ahead_days: float,
    parameters: Parameters = DEFAULT,
) -> Column:
    """Return the gate's lower bound so many days after a right answer now that counts; the point is held still."""
    gate, gate_var = _gate_after_right(asked, who, parameters)
    days = np.full_like(gate, ahead_days)
    return _low(asked, gate, gate_var, days, gate_who, parameters)


def _low(
    asked: Columns,
    ln_hold: Column,
    ln_hold_var: Column,
    days: Column,
    gate_who: PersonMoments,
    parameters: Parameters,
) -> Column:
    low = recall_low(
        ln_hold,
        np.maximum(days, LEAST_DAYS),
        gate_who,
        easiness=asked.easiness,
        ln_hold_var=ln_hold_var,
        easiness_var=asked.easiness_var,
        parameters=parameters,
    )
    return np.asarray(low)


def _gate_after_right(asked: Columns, who: PersonMoments, parameters: Parameters) -> tuple[Column, Column]:
    """Return ln hold and its variance of the gate after a right answer now: never above base's or the drill's."""
    off = who.ability + asked.easiness
    first, first_var = _first(asked, off, parameters)
    later, more_var = _next(asked, np.stack([asked.gate, asked.base, asked.held]), off, who.fade, parameters)
    new = np.isnan(asked.gate)
    later[0] = np.where(new, first, later[0])
    return np.fmin.reduce(later, axis=0), np.where(new, first_var, asked.gate_var + more_var[0])


def _first(asked: Columns, off: Column, parameters: Parameters) -> tuple[Column, Column]:
    recalled = np.asarray(recall(np.full_like(off, _NAN), 0.0, off=off, parameters=parameters))
    share = _share_recalled(recalled, asked.chance_floor, parameters.slip)
    step = parameters.first_right - parameters.first_wrong
    return parameters.first_wrong + share * step, share * (1.0 - share) * step * step


def _next(asked: Columns, ln_hold: Column, off: Column, fade: float, parameters: Parameters) -> tuple[Column, Column]:
    """Return the next ln hold from ``ln_hold`` (NaN stays NaN) and the variance that this answer adds."""
    recalled = np.asarray(recall(ln_hold, np.fmax(asked.seen_days, 0.0), off=off, fade=fade, parameters=parameters))
    doubt = 1.0 - recalled
    by_right = parameters.right_base + parameters.right_gain * doubt
    by_wrong = parameters.wrong_base + parameters.wrong_gain * doubt
    share = _share_recalled(recalled, asked.chance_floor, parameters.slip)
    moved = ln_hold + share * by_right + (1.0 - share) * by_wrong
    return moved, share * (1.0 - share) * (by_right - by_wrong) ** 2


def _share_recalled(recalled: Column, chance_floor: Column, slip: float) -> Column:
    """Return P(recalled | right); a right answer that nothing could have brought shows recall."""
    known = recalled * (1.0 - slip)
    both = known + (1.0 - recalled) * chance_floor
    impossible = both <= 0.0
    return np.where(impossible, 1.0, known / (both + impossible))


def _row(trace: Trace, at: datetime) -> tuple[float, ...]:
    """Return a column's values of one question in order of ``_IN_ROW``, with seconds where these are days."""
    gate, seen_s = trace.gate, (at - trace.last_at).total_seconds()
    held, gate_at, base = gate.ln_hold, gate.last_at, _NAN
    if not gate.clean:
        base = _or_nan(held if gate.base is None else gate.base)
    adds = gate.last_wrong_at is None or (at - gate.last_wrong_at).total_seconds() > _SESSION_S
    return (
        trace.ln_hold,
        trace.ln_hold_var,
        seen_s,
        _NAN if held is None else held,
        gate.ln_hold_var,
        _NAN if gate_at is None else seen_s if gate_at == trace.last_at else (at - gate_at).total_seconds(),
        base,
        gate.wrong_running + adds,
        trace.easiness,
        trace.easiness_var,
        gate.wrong_running,
    )


def _or_nan(value: float | None) -> float:
    return _NAN if value is None else value

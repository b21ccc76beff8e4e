"""How the simulated crew forgets: every showing of a question leaves a trace that decays by its own power of time.

Not our model, on purpose: recall is sigma(ln(sum of w age^-d) / scale + off), and a trace laid while much was active
decays faster, d = crowding e^m + least (Pavlik and Anderson 2005, Cognitive Science 29, 559-586: equations from memory,
own small version). Ability, question and pair lie in ``off``. The five numbers were fitted to the 62 published group
means that the memory model's section 11 prints; a test repeats how far off they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol, TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Places: TypeAlias = NDArray[np.intp]

LEAST_AGE_DAYS: Final = 1.0 / 24.0
MOST_ACTIVATION: Final = 5.0
FIRST_ROOM: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Forgetting:
    """``crowding`` and ``least_decay`` make a trace's decay, ``scale`` is logistic; weights of traces, days.

    ``recalled`` traces weigh 1. ``group_offs``: the mean off of the four published groups, ``spread`` around it 1.
    """

    crowding: float = 0.2115
    least_decay: float = 0.1784
    scale: float = 0.2158
    not_recalled: float = 0.1973
    only_read: float = 0.3749
    group_offs: tuple[float, float, float, float] = (0.381, 2.657, 1.176, 2.042)


FITTED: Final = Forgetting()


class Truth(Protocol):
    """How somebody truly forgets; days from any origin, rows are places of questions."""

    def recall(self, day: float, rows: Places | slice = slice(None)) -> Floats:
        """Return the chance of recalling each of the rows at ``day``."""

    def show(self, row: int, day: float, *, recalled: bool) -> None:
        """Take in an answer with its reasons read."""


class Traces:
    """What one person keeps of each question, a row each: when it was shown, how fast that fades, what it weighs."""

    def __init__(self, off: Floats, *, decay_factor: float = 1.0, how: Forgetting = FITTED) -> None:
        self.off, self.decay_factor, self.how = off, decay_factor, how
        self.laid = np.zeros(len(off), dtype=np.intp)
        self._shown = np.zeros((len(off), FIRST_ROOM))
        self._decay = np.ones((len(off), FIRST_ROOM))
        self._weight = np.zeros((len(off), FIRST_ROOM))

    def recall(self, day: float, rows: Places | slice = slice(None)) -> Floats:
        """Return the chance of recalling each of the rows at ``day`` (days from any origin, none before the last)."""
        return sigma(self._activation(day, rows) / self.how.scale + self.off[rows])

    def knew(self, chance: Floats, day: float, age_days: float) -> None:
        """Lay what was known of each question before: one trace of that age that gives ``chance`` at ``day``."""
        decay = self.how.least_decay * self.decay_factor
        logit = np.log(chance) - np.log1p(-chance)
        weight = np.exp(self.how.scale * (logit - self.off)) * age_days**decay
        self._put(np.arange(len(self.off)), day - age_days, np.full(len(self.off), decay), weight)

    def show(self, row: int, day: float, *, recalled: bool) -> None:
        """Lay the trace of an answer with its reasons read."""
        rows = np.array([row], dtype=np.intp)
        active = np.minimum(self._activation(day, rows), MOST_ACTIVATION)
        decay = (self.how.crowding * np.exp(active) + self.how.least_decay) * self.decay_factor
        self._put(rows, day, decay, np.array([1.0 if recalled else self.how.not_recalled]))

    def _activation(self, day: float, rows: Places | slice) -> Floats:
        used = int(self.laid.max(initial=0))
        age = np.maximum(day - self._shown[rows, :used], LEAST_AGE_DAYS)
        total = (self._weight[rows, :used] * age ** -self._decay[rows, :used]).sum(axis=1)
        with np.errstate(divide="ignore"):
            return np.asarray(np.log(total))

    def _put(self, rows: Places, day: float, decay: Floats, weight: Floats) -> None:
        place = self.laid[rows]
        if int(place.max(initial=0)) >= self._shown.shape[1]:
            self._shown, self._weight = (
                np.pad(part, ((0, 0), (0, FIRST_ROOM))) for part in (self._shown, self._weight)
            )
            self._decay = np.pad(self._decay, ((0, 0), (0, FIRST_ROOM)), constant_values=1.0)
        self._shown[rows, place], self._decay[rows, place], self._weight[rows, place] = day, decay, weight
        self.laid[rows] += 1


def sigma(logit: Floats) -> Floats:
    """Return 1 / (1 + exp(-logit)), without a warning for a logit of minus infinity."""
    with np.errstate(over="ignore"):
        return np.asarray(1.0 / (1.0 + np.exp(-logit)))

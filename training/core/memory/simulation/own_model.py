"""A crew that forgets just as our model says: to try the algebra of the bound under drills, not the world."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator

from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.recall import recall
from training.core.memory.simulation.truth import Floats, Places


class OwnTraces:
    """True holds (natural log of days) and last showings of one person's questions, by the update of the memory model.

    ``off`` and ``fade`` are drawn by whoever makes it from the priors of the parameters.
    """

    def __init__(self, off: Floats, fade: float, parameters: Parameters = DEFAULT) -> None:
        self.off, self.fade, self.parameters = off, fade, parameters
        self._ln_hold = np.full(len(off), np.nan)
        self._shown = np.zeros(len(off))

    def recall(self, day: float, rows: Places | slice = slice(None)) -> Floats:
        """Return the chance of recalling each of the rows at ``day``; never shown: sigma(off)."""
        past = np.maximum(day - self._shown[rows], 0.0)
        found = recall(self._ln_hold[rows], past, off=self.off[rows], fade=self.fade, parameters=self.parameters)
        return np.asarray(found)

    def show(self, row: int, day: float, *, recalled: bool) -> None:
        """Move the hold by what truly happened."""
        at, doubt = self.parameters, 1.0 - float(self.recall(day, np.array([row], dtype=np.intp))[0])
        if np.isnan(self._ln_hold[row]):
            self._ln_hold[row] = at.first_right if recalled else at.first_wrong
        else:
            right, wrong = at.right_base + at.right_gain * doubt, at.wrong_base + at.wrong_gain * doubt
            self._ln_hold[row] += right if recalled else wrong
        self._shown[row] = day


def own_model_traces(questions: int, easiness: Floats, rng: Generator, parameters: Parameters = DEFAULT) -> OwnTraces:
    """Draw one person from the priors; ``easiness`` (logits) is shared by all, with ``sd_easiness`` around 0."""
    ability = parameters.sd_ability * rng.standard_normal()
    pair = parameters.sd_pair * rng.standard_normal(questions)
    return OwnTraces(ability + easiness + pair, float(parameters.sd_fade * rng.standard_normal()), parameters)

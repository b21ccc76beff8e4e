"""The numbered parameter set of the recall model, with the defaults of the memory model's section 5."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

BOUND_Z: Final = 1.645
"""Standard normal quantile of the lower 5 % bound."""

SESSION_DAYS: Final = 0.5
"""An answer is the first of its session when the question was last seen more than this many days ago, or never."""

MOST_LN_HOLD: Final = 600.0
"""Beyond e^600 days a hold counts as e^600, before anything overflows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameters:
    """One parameter set. Natural logs, days; standard deviations are on the logit scale, ``sd_fade`` on that of ln
    days.

    ``first_read`` is ln hold_days after a first showing that proved nothing; ``session_clock`` is kappa, which only
    ``session_clock.py`` reads. Raises ValueError if ``sd_fade`` is so wide that the lower bound could rise with time
    (it falls as long as ``BOUND_Z * sd_fade`` is below 1; see ``gates.py``).
    """

    number: int = 1
    b: float = 9.68
    fade: float = 1.087
    first_right: float = -6.777
    first_wrong: float = -7.466
    first_read: float = -7.746
    right_base: float = 0.288
    right_gain: float = 4.263
    wrong_base: float = -0.067
    wrong_gain: float = 0.476
    session_clock: float = 38.5
    sd_ability: float = 0.85
    sd_fade: float = 0.60
    sd_easiness: float = 1.44
    sd_pair: float = 0.3
    slip: float = 0.02

    def __post_init__(self) -> None:
        if not 0.0 < self.sd_fade * BOUND_Z < 1.0:
            raise ValueError(f"sd_fade {self.sd_fade} must be above 0 and below {1 / BOUND_Z:.3f}")
        if min(self.sd_ability, self.fade) <= 0.0:
            raise ValueError("sd_ability and fade must be above 0")
        if not 0.0 <= self.slip < 0.5:
            raise ValueError(f"slip {self.slip} must be at least 0 and below 0.5")


DEFAULT: Final = Parameters()

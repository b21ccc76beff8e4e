"""The numbered parameter set of a workshop group: the shipped one, or the newest that a manager has confirmed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from training.core.memory.fitting import FADE_REACH, LEVEL_REACH, Fitted
from training.core.memory.parameters import DEFAULT, Parameters
from training.drill.facts import PARAMETERS, ParametersConfirmed, ParametersProposed
from training.records.queries import Written, facts_of

MILLI = 1000
LARGEST_EASINESS = 10.0  # logits; nothing that a fit with sd 1.44 could say


@dataclass(frozen=True, slots=True, kw_only=True)
class ParameterSet:
    """The parameters of the recall model, and easiness with its standard deviation by question, in logits.

    ``unreadable`` names the record of a set in force that cannot be read. Then this is number 0 with the shipped
    values, good enough to choose what to drill; the records named keep everybody from being cleared.
    """

    number: int
    parameters: Parameters = DEFAULT
    easiness: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    unreadable: tuple[int, ...] = ()

    def easiness_of(self, question: str) -> tuple[float, float]:
        """Easiness of a question and the variance of that; of one that nothing is known of: 0 and the prior's."""
        mean, sd = self.easiness.get(question, (0.0, self.parameters.sd_easiness))
        return mean, sd * sd

    @property
    def fitted(self) -> Fitted:
        """The set as the fit starts from it."""
        return Fitted(parameters=self.parameters, easiness=self.easiness)


SHIPPED = ParameterSet(number=DEFAULT.number)


def parameters_of(chain_id: int, known_at: int | None = None) -> ParameterSet:
    """The parameter set in force as known at a record number: the shipped one until a manager confirms another.

    The newest confirmation decides. Where it, or what it confirms, cannot be read, nobody knows which set is in force.
    """
    confirmed = facts_of([ParametersConfirmed], chain_id=chain_id, about=PARAMETERS, known_at=known_at)
    if not confirmed:
        return SHIPPED
    newest = confirmed[-1]
    proposal = _proposal(chain_id, newest)
    found = set_of(proposal) if proposal else None
    if found is None or newest.fact is None or found.number != newest.fact.number:
        return ParameterSet(number=0, unreadable=(newest.number,))
    return found


def proposals_of(chain_id: int, known_at: int | None = None) -> list[Written[ParametersProposed]]:
    """Every parameter set ever proposed, oldest first."""
    return facts_of([ParametersProposed], chain_id=chain_id, about=PARAMETERS, known_at=known_at)


def set_of(proposal: ParametersProposed) -> ParameterSet | None:
    """The set that a proposal holds; None where it holds nothing that a fit could have said."""
    easiness = {question: (mean / MILLI, sd / MILLI) for question, mean, sd in proposal.easiness}
    sound = all(abs(mean) <= LARGEST_EASINESS and 0.0 < sd <= LARGEST_EASINESS for mean, sd in easiness.values())
    b, fade, (flattest, steepest) = proposal.b_milli / MILLI, proposal.fade_milli / MILLI, FADE_REACH
    if not (sound and proposal.number > 1 and abs(b - DEFAULT.b) <= LEVEL_REACH and flattest <= fade <= steepest):
        return None
    parameters = replace(DEFAULT, number=proposal.number, b=b, fade=fade)
    return ParameterSet(number=proposal.number, parameters=parameters, easiness=easiness)


def _proposal(chain_id: int, confirmed: Written[ParametersConfirmed]) -> ParametersProposed | None:
    """What a confirmation confirms; only what was proposed before it."""
    fact = confirmed.fact
    if fact is None or fact.proposal >= confirmed.number:
        return None
    rows = [row for row in proposals_of(chain_id, confirmed.number) if row.number == fact.proposal]
    return rows[0].fact if rows else None

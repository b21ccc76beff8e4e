"""Parameter sets: a refit proposed when it predicts better, and put in force by a manager."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from training.core.memory.fitting import Fitted, People, Trial, counted, instant_of_share, refit, try_refit
from training.drill.facts import PARAMETERS, ParametersConfirmed, ParametersProposed
from training.drill.parameters import MILLI, parameters_of, proposals_of, set_of
from training.drill.queries import as_memory_answer, histories_of
from training.people.models import Person, WorkshopGroup
from training.people.queries import is_manager, workshop_keys
from training.records.actions import Refused, append
from training.records.models import Record

FEWEST_ANSWERS = 2_000  # at day scale; memory-model: treat the shipped values as a prior until then
SOONEST_AGAIN = timedelta(days=7)
SHARE_LEARNT_FROM = 0.8
LEAST_GAIN_NATS = 0.003  # an answer, on those held out; what is less may be chance, and every new set unsettles people
MICRO = 1_000_000


def propose_parameters(*, group: WorkshopGroup, at: datetime, fewest: int = FEWEST_ANSWERS) -> Record | None:
    """Refit to the group's own answers and propose the set, if it predicts held-out answers better than the one in use.

    None, and nothing written, when a set was proposed within a week, when there are fewer answers at day scale than
    ``fewest``, when the set in force cannot be read, or when the gain is too small. Fitting runs outside any
    transaction: it takes minutes.
    """
    chain_id = group.chain_id
    used, proposed = parameters_of(chain_id), proposals_of(chain_id)
    if used.unreadable or (proposed and at - proposed[-1].recorded_at < SOONEST_AGAIN):
        return None
    people = _answers_of(group)
    if counted(people) < fewest:
        return None
    trial = try_refit(people, used.fitted, instant_of_share(people, SHARE_LEARNT_FROM))
    if not trial.is_better(LEAST_GAIN_NATS):
        return None
    fact = _proposal(_next_number([row.fact for row in proposed]), used.number, refit(people, used.fitted), trial)
    with transaction.atomic():
        return append(fact, chain_id=chain_id, about=PARAMETERS, at=at)


def confirm_parameters(*, number: int, by: Person, at: datetime) -> None:
    """Put the newest proposed set in force; every clearance of the group is worked out anew. Once is enough.

    Raises ``Refused`` for anybody but a manager, and for a set that is not the newest or cannot be read.
    """
    if not is_manager(by):
        raise Refused(_("Only a manager puts a parameter set in force."))
    chain_id = by.group.chain_id
    with transaction.atomic():
        if parameters_of(chain_id).number == number:
            return
        newest = next(reversed(proposals_of(chain_id)), None)
        if newest is None or newest.fact is None or newest.fact.number != number or set_of(newest.fact) is None:
            raise Refused(_("This parameter set is not the newest proposed, or cannot be read. Reload the page."))
        fact = ParametersConfirmed(number=number, proposal=newest.number, by=by.key)
        append(fact, chain_id=chain_id, about=PARAMETERS, at=at, names=workshop_keys(by.group_id))


def _answers_of(group: WorkshopGroup) -> People:
    """Everybody's answers that can be read, in order; those who have left too."""
    keys = list(Person.objects.filter(group=group).order_by("key").values_list("key", flat=True))
    histories = histories_of(keys, chain_id=group.chain_id)
    return {
        key: sorted(
            (as_memory_answer(row, history.parameter_set) for row in history.answers),
            key=lambda one: (one.at, one.record),
        )
        for key, history in histories.items()
    }


def _next_number(proposed: list[ParametersProposed | None]) -> int:
    """One more than any before; a proposal that cannot be read has used up a number as well."""
    return max([1 + len(proposed), *(fact.number for fact in proposed if fact)]) + 1


def _proposal(number: int, base: int, fitted: Fitted, trial: Trial) -> ParametersProposed:
    return ParametersProposed(
        number=number,
        base=base,
        b_milli=round(fitted.parameters.b * MILLI),
        fade_milli=round(fitted.parameters.fade * MILLI),
        easiness=[
            (question, round(mean * MILLI), max(1, round(sd * MILLI)))
            for question, (mean, sd) in sorted(fitted.easiness.items())
        ],
        answers=trial.answers,
        held_out=trial.held_out,
        loss_before_micro=round(trial.loss_before * MICRO),
        loss_after_micro=round(trial.loss_after * MICRO),
    )

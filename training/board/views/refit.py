"""A proposed parameter set for managers: what it is, who would gain and who would lose, and putting it in force."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from training.board.labels import moment_words
from training.board.refit import changes
from training.board.voices import voice_of
from training.drill.facts import ParametersProposed
from training.drill.parameters import ParameterSet, parameters_of, proposals_of, set_of
from training.drill.refitting import confirm_parameters
from training.people.queries import is_manager
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest

MICRO = 1_000_000


@never_cache
@require_safe
def parameters(request: AuthenticatedRequest) -> HttpResponse:
    """The set in force, and the newest one proposed with all that it would change."""
    _managers_only(request)
    chain_id, now = request.user.group.chain_id, timezone.now()
    used, newest = parameters_of(chain_id), next(reversed(proposals_of(chain_id)), None)
    voice = voice_of(request.user.workshop, None, now=now)
    context: dict[str, Any] = {"used": used, "clock": moment_words(now, voice), "proposal": None}
    found = set_of(newest.fact) if newest and newest.fact else None
    if newest and newest.fact and found and found.number > used.number:
        context |= {"proposal": newest.fact, "proposed_at": moment_words(newest.happened_at, voice)}
        context |= _what_it_says(newest.fact, found) | {"changes": changes(request.user.group, found, at=now)}
    return render_page(request, page="board/parameters.html", part="board/_parameters.html", context=context)


@require_POST
def confirm(request: AuthenticatedRequest, number: int) -> HttpResponse:
    """Put a proposed set in force; every clearance of the group is worked out anew."""
    _managers_only(request)
    try:
        confirm_parameters(number=number, by=request.user, at=timezone.now())
    except Refused as refused:
        raise BadPost(str(refused)) from refused
    messages.success(request, _("Parameter set %(number)d is in force.") % {"number": number})
    return redirect("board:parameters")


def _managers_only(request: AuthenticatedRequest) -> None:
    if not is_manager(request.user):
        raise Http404


def _what_it_says(fact: ParametersProposed, found: ParameterSet) -> dict[str, Any]:
    return {
        "before": f"{fact.loss_before_micro / MICRO:.3f}",
        "after": f"{fact.loss_after_micro / MICRO:.3f}",
        "b": f"{found.parameters.b:.3f}",
        "fade": f"{found.parameters.fade:.3f}",
        "questions": len(found.easiness),
    }

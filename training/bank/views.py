"""The checker's page: read new questions with key and reasons, and accept them for the workshop."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from training.bank.actions import accept
from training.bank.forms import chosen_versions
from training.bank.models import QuestionVersion
from training.bank.queries import question_of, waiting_for_acceptance
from training.core.questions.kinds import Consequence
from training.core.questions.marking import right_keys
from training.people.models import RoleHeld, Workshop
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest

ORDER = (Consequence.LIFE, Consequence.INJURY, Consequence.DAMAGE)


@require_http_methods(["GET", "POST"])
def acceptance(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """Show what waits for a checker; POST accepts what was ticked, or a whole topic."""
    site = get_object_or_404(Workshop, slug=workshop, group=request.user.group)
    if not RoleHeld.objects.filter(person=request.user, role=RoleHeld.Role.CHECKER).exists():
        raise PermissionDenied(_("Only a checker accepts questions."))
    waiting = waiting_for_acceptance(site)
    if request.method == "POST":
        versions = chosen_versions(request.POST, waiting)
        try:
            accept(workshop=site, versions=versions, by=request.user, at=timezone.now())
        except Refused as refused:
            raise BadPost(str(refused)) from refused
        messages.success(request, _("%(count)d accepted for %(site)s.") % {"count": len(versions), "site": site.name})
        return redirect("bank:acceptance", workshop=site.slug)
    context = {
        "workshop": site,
        "topics": _by_topic(waiting),
        "count": len(waiting),
        "of_life": _of_life(waiting),
    }
    return render_page(request, page="bank/acceptance.html", part="bank/_acceptance.html", context=context)


def _by_topic(waiting: list[QuestionVersion]) -> list[tuple[str, list[dict[str, Any]], int]]:
    """By topic, in each first what costs a life where it is done wrong, and how many those are."""
    ordered = sorted(
        waiting, key=lambda row: (row.topic, ORDER.index(Consequence(row.consequence)), row.question.ident)
    )
    topics = [(topic, list(rows)) for topic, rows in groupby(ordered, key=lambda version: version.topic)]
    return [(topic, [_shown(row) for row in rows], _of_life(rows)) for topic, rows in topics]


def _of_life(waiting: list[QuestionVersion]) -> int:
    return sum(1 for version in waiting if version.consequence == Consequence.LIFE)


def _shown(version: QuestionVersion) -> dict[str, Any]:
    question = question_of(version, seed=1)
    return {
        "version": version,
        "question": question,
        "right": right_keys(question),
        "of_life": version.consequence == Consequence.LIFE,
    }

"""The pages to read before and after drilling: the list of primers, and one primer a topic."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from training.bank.primers import PRIMERS, template_of
from training.core.trade import limits


@require_safe
def primers(request: HttpRequest) -> HttpResponse:
    """List the primers."""
    return render(request, "bank/primers.html", {"primers": PRIMERS})


@require_safe
def primer(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the primer of one topic, with the figures of the trade as they stand in the code."""
    if slug not in PRIMERS:
        raise Http404(_("There is no primer of that name."))
    return render(request, template_of(slug), {"topic": PRIMERS[slug], "figure": limits})

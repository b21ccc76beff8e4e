"""The small-shop exception of a workshop: read by everybody there, proposed, signed, put into force, withdrawn."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from training.bank.queries import newest_tasks
from training.bank.rule_books import rule_book_of
from training.board.cascade.forms import WithdrawForm
from training.board.cascade.queries import affected_by_small_shop, gained_by_small_shop
from training.board.small_shop.forms import ProposeForm
from training.board.small_shop.words import history_of, line_of
from training.board.voices import voice_of
from training.core.trade.calendar import local_day
from training.people import small_shop as actions
from training.people.models import Workshop
from training.people.own_password import is_own_password
from training.people.queries import is_manager
from training.people.refusal import Refusal
from training.people.second_signers import may_sign_second
from training.people.small_shops import folded, small_shops_of, written_of
from training.people.views.entering import entered
from training.people.views.finding import workshop_of
from training.records.actions import Refused
from training.records.models import Record
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest

page_with_form = require_http_methods(["GET", "HEAD", "POST"])


@never_cache
@page_with_form
def small_shop(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """What the exception means, those there are with what became of each, and for a manager the form to propose one."""
    site = workshop_of(request, workshop)
    manager = is_manager(request.user)
    if request.method == "POST" and not manager:
        raise PermissionDenied(_("Only a manager may propose it."))
    tasks = {key: row.title for key, row in newest_tasks(site.group_id).items()}
    today = {"from_day": local_day(timezone.now(), site.zone)}
    form = ProposeForm(request.POST if request.method == "POST" else None, tasks=tasks, initial=today)
    if entered(request, form, actions.propose, workshop=site):
        messages.success(request, _("Proposed. It gives nothing until a second person has signed it."))
        return redirect("board:small_shop", workshop=site.slug)
    context = {"workshop": site, "form": form if manager else None, "manager": manager, **_shown(request, site)}
    page = render_page(request, page="board/small_shop.html", part="board/_small_shop.html", context=context)
    page.status_code = 400 if form.errors else 200
    return page


@require_POST
def sign(request: AuthenticatedRequest, workshop: str, record: int) -> HttpResponse:
    """The second person signs a proposed exception with the password; every clearance there is worked out anew."""

    def signed(**more: Any) -> Record:
        if not is_own_password(request.user, request.POST.get("password", ""), at=more["at"]):
            raise Refusal(_("That is not your password. Nothing was signed."))
        return actions.sign(**more)

    return _act(request, workshop, record, signed, _("Signed."))


@require_POST
def confirm(request: AuthenticatedRequest, workshop: str, record: int) -> HttpResponse:
    """A manager puts an exception into force whose first day has come."""
    return _act(request, workshop, record, actions.confirm, _("Put into force."))


@never_cache
@page_with_form
def withdraw(request: AuthenticatedRequest, workshop: str, record: int) -> HttpResponse:
    """Ask for the day and the reason; then list who is affected; with ``confirm`` posted as well, record it."""
    site = workshop_of(request, workshop)
    if not may_sign_second(request.user, site):
        raise PermissionDenied(_("Only a manager, or the workshop's second signer, may withdraw it."))
    written, now = written_of(site), timezone.now()
    one = folded(site.key, written).numbered(record)
    if one is None:
        raise Http404
    form = WithdrawForm(request.POST if request.method == "POST" else None)
    asked: dict[str, Any] = {"workshop": site, "record": record}
    if "confirm" in request.POST and entered(request, form, actions.withdraw, **asked):
        messages.success(request, _("Withdrawn."))
        return redirect("board:small_shop", workshop=site.slug)
    voice = voice_of(site, rule_book_of(site), now=now)
    context: dict[str, Any] = {"workshop": site, "form": form, "line": line_of(one, written, voice)}
    if "confirm" not in request.POST and entered(request, form, actions.check_withdrawal, **asked):
        context["affected"] = affected_by_small_shop(site, record, form.cleaned_data["from_day"], at=now)
    part = "board/_small_shop_withdraw.html"
    page = render_page(request, page="board/small_shop_withdraw.html", part=part, context=context)
    page.status_code = 400 if form.errors else 200
    return page


def _shown(request: AuthenticatedRequest, site: Workshop) -> dict[str, Any]:
    """All exceptions, newest first; to whoever may sign one, what would be said otherwise once they have."""
    written, now = written_of(site), timezone.now()
    voice = voice_of(site, rule_book_of(site), now=now)
    signs = may_sign_second(request.user, site)
    lines = []
    for one in reversed(folded(site.key, written).all):
        line = line_of(one, written, voice)
        may_sign = signs and line.waits and one.by != request.user.key
        gains = gained_by_small_shop(site, one.record, request.user, at=now) if may_sign else ()
        lines.append({"line": line, "may_sign": may_sign, "gains": gains})
    return {"lines": lines, "signs": signs, "history": history_of(written, voice)}


def _act(
    request: AuthenticatedRequest, workshop: str, record: int, act: Callable[..., Record], said: str
) -> HttpResponse:
    site = workshop_of(request, workshop)
    if small_shops_of(site).numbered(record) is None:
        raise Http404
    try:
        act(workshop=site, record=record, by=request.user, at=timezone.now())
    except (Refusal, Refused) as refusal:
        raise BadPost(str(refusal)) from refusal
    messages.success(request, said)
    return redirect("board:small_shop", workshop=site.slug)

"""The mentor's pages: watch a task step by step, judge, sign with the password."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from training.bank.queries import newest_tasks, task_of
from training.core.permission.evidence import Supervision
from training.core.permission.practical import Judgement, PracticalTask, StepResult, faults_of_attempt
from training.people.models import Person
from training.people.own_password import is_own_password
from training.people.refusal import Refusal
from training.records.actions import Refused
from training.signoff import actions
from training.signoff.forms import Noted, read_noted
from training.signoff.labels import SUPERVISIONS, fault_words
from training.signoff.models import Draft
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest


@require_POST
def begin(request: AuthenticatedRequest) -> HttpResponse:
    """Open an observation for a person and a task that this mentor may observe."""
    posted = request.POST.get("person", "")
    if not (posted.isascii() and posted.isdigit()):
        raise BadPost(_("Say whom you are going to watch, and at which task."))
    person = get_object_or_404(Person, pk=int(posted[:18]), group=request.user.group, is_active=True)
    task = newest_tasks(request.user.group_id).get(request.POST.get("task", ""))
    if task is None:
        raise BadPost(_("There is no such practical task. Choose one from the list."))
    try:
        draft = actions.begin(person=person, task=task, by=request.user, at=timezone.now())
    except Refused as refused:
        raise BadPost(str(refused)) from refused
    return redirect("signoff:observe", draft_id=draft.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def observe(request: AuthenticatedRequest, draft_id: int) -> HttpResponse:
    """Show the steps; POST keeps what has been noted and goes on to signing."""
    draft = _own_draft(request, draft_id)
    task = task_of(draft.task)
    if request.method == "POST":
        noted = read_noted(request.POST, steps=len(task.steps))
        _keep(draft, noted)
        if request.POST.get("then") == "sign":
            return redirect("signoff:sign", draft_id=draft.pk)
        messages.success(request, _("Kept. Nothing is on record until you sign."))
        return redirect("signoff:observe", draft_id=draft.pk)
    return render_page(
        request, page="signoff/observe.html", part="signoff/_observe.html", context=_context(draft, task)
    )


@require_http_methods(["GET", "HEAD", "POST"])
def sign(request: AuthenticatedRequest, draft_id: int) -> HttpResponse:
    """Show what would be signed and whether it passes; POST with the right password signs it."""
    draft = _own_draft(request, draft_id)
    context = _context(draft, task_of(draft.task))
    status = 200
    if request.method == "POST" and not draft.signed_at:
        try:
            if is_own_password(request.user, request.POST.get("password", ""), at=timezone.now()):
                return _signed(request, draft)
        except Refusal as refusal:
            raise BadPost(refusal.sentence) from refusal
        context["wrong_password"], status = True, 400
    return render_page(request, page="signoff/sign.html", part="signoff/_sign.html", context=context, status=status)


@require_POST
def leave(request: AuthenticatedRequest, draft_id: int) -> HttpResponse:
    """Leave an attempt unsigned."""
    actions.leave(draft=_own_draft(request, draft_id), by=request.user, at=timezone.now())
    messages.info(request, _("Left. Nothing was recorded."))
    return redirect("board:waiting")


def _signed(request: AuthenticatedRequest, draft: Draft) -> HttpResponse:
    try:
        actions.sign(draft=draft, by=request.user, at=timezone.now())
    except Refused as refused:
        raise BadPost(str(refused)) from refused
    return redirect("signoff:sign", draft_id=draft.pk)


def _own_draft(request: AuthenticatedRequest, draft_id: int) -> Draft:
    rows = Draft.objects.select_related("task", "person", "workshop__group")
    return get_object_or_404(rows, pk=draft_id, mentor=request.user, left_at=None)


def _keep(draft: Draft, noted: Noted) -> None:
    try:
        actions.note(
            draft=draft,
            steps=noted.steps,
            judgement=noted.judgement,
            note=noted.note,
            supervision=noted.supervision,
        )
    except Refused as refused:
        raise BadPost(str(refused)) from refused


def _context(draft: Draft, task: PracticalTask) -> dict[str, Any]:
    results = [StepResult(step) if step else None for step in draft.steps]
    judgement = Judgement(draft.judgement) if draft.judgement else None
    supervision = Supervision(draft.supervision)
    faults = faults_of_attempt(task, results, judgement, supervision)
    return {
        "draft": draft,
        "task": task,
        "rows": [
            {"number": n, "step": step, "result": result}
            for n, (step, result) in enumerate(zip(task.steps, results, strict=True), 1)
        ],
        "results": list(StepResult),
        "judgements": list(Judgement),
        "supervisions": [(one, SUPERVISIONS[one]) for one in Supervision],
        "watched": supervision is Supervision.WATCHED,
        "stood": SUPERVISIONS[supervision],
        "faults": [fault_words(fault) for fault in faults],
        "complete": supervision is Supervision.WATCHED or (None not in results and judgement is not None),
    }

"""The drill on a phone: one question a page, a commitment, then what came of it."""

from __future__ import annotations

from collections.abc import Collection

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from training.bank.queries import Unreadable, question_of
from training.core.questions.kinds import Kind, Question
from training.core.questions.marking import BadAnswer
from training.drill import actions, pages
from training.drill.forms import letters_of, read_commitment, read_minutes, read_move, read_response
from training.drill.models import Drill, Turn
from training.drill.queries import next_turn
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.htmx import render_page, wants_part
from training.web.requests import AuthenticatedRequest


@require_POST
def start(request: AuthenticatedRequest) -> HttpResponse:
    """Open this shift's drill, or go on with it."""
    minutes = read_minutes(request.POST)
    try:
        opened = actions.open_drill(person=request.user, minutes=minutes, at=timezone.now())
    except Refused as refused:
        context = {"sentence": str(refused)}
        return render_page(request, page="drill/nothing.html", part="drill/_nothing.html", context=context)
    return redirect("drill:drill", drill_id=opened.pk)


@never_cache
@require_safe
def drill(request: AuthenticatedRequest, drill_id: int) -> HttpResponse:
    """Show the next question that is open, or go to the end."""
    turn = next_turn(_own_drill(request, drill_id))
    if turn is None:
        return redirect("drill:closed", drill_id=drill_id)
    try:
        question = actions.show_turn(turn=turn, at=timezone.now())
    except Unreadable:
        actions.close_drill(drill=turn.drill, at=timezone.now())
        messages.warning(request, _("The next question cannot be shown any more. Start a new drill."))
        return redirect("drill:closed", drill_id=drill_id)
    return _asked(request, turn, question)


@require_POST
def answer(request: AuthenticatedRequest, drill_id: int, position: int) -> HttpResponse:
    """Take one answer with its commitment; a second tap comes to the first outcome."""
    turn = _own_turn(request, drill_id, position)
    if turn.answered_at is None:
        question = _open_question(turn)
        try:
            response = read_response(request.POST, question, letters_of(question, turn.seed))
            reply = actions.Reply(response=response, commitment=read_commitment(request.POST))
            actions.record_answer(turn=turn, reply=reply, by=request.user, at=timezone.now())
        except BadAnswer as bad:
            chosen = request.POST.getlist("choice")
            return _asked(request, turn, question, chosen=chosen, sentence=_(str(bad)), status=400)
        except Refused as refused:
            raise BadPost(str(refused)) from refused
    return redirect("drill:outcome", drill_id=drill_id, position=position)


@require_POST
def order(request: AuthenticatedRequest, drill_id: int, position: int) -> HttpResponse:
    """Move one step up or down."""
    turn = _own_turn(request, drill_id, position)
    if turn.answered_at is not None:
        return redirect("drill:outcome", drill_id=drill_id, position=position)
    question = _open_question(turn)
    if question.kind is not Kind.PUT_IN_ORDER:
        raise BadPost(_("There are no steps to move in this question."))
    moved, letter = read_move(request.POST, turn.order, letters_of(question, turn.seed))
    actions.reorder(turn=turn, order=moved)
    if wants_part(request):
        context = pages.question_page(turn, question)
        return render_page(request, page="drill/_steps.html", part="drill/_steps.html", context=context)
    return redirect(f"{reverse('drill:drill', args=[drill_id])}#step-{letter}")


@never_cache
@require_safe
def outcome(request: AuthenticatedRequest, drill_id: int, position: int) -> HttpResponse:
    """Show what an answer came to, and why; an open question is shown in its turn."""
    turn = _own_turn(request, drill_id, position)
    if turn.answered_at is None:
        return redirect("drill:drill", drill_id=drill_id)
    question = _still_readable(turn)
    if question is None:
        messages.warning(request, _("Your answer is on record, but the question cannot be shown any more."))
        return redirect("drill:drill", drill_id=drill_id)
    context = pages.outcome_page(turn, question, request.user, at=timezone.now())
    context["is_last"] = next_turn(turn.drill) is None
    return render_page(request, page="drill/outcome.html", part="drill/_outcome.html", context=context)


@never_cache
@require_safe
def closed(request: AuthenticatedRequest, drill_id: int) -> HttpResponse:
    """Show what was answered and what comes back; an open drill goes on."""
    found = _own_drill(request, drill_id)
    if next_turn(found) is not None:
        return redirect("drill:drill", drill_id=drill_id)
    turns = found.turns.filter(answered_at__isnull=False).select_related("version__question")
    shown = [(turn, question) for turn in turns if (question := _still_readable(turn))]
    context = pages.closed_page(found, shown, at=timezone.now())
    return render_page(request, page="drill/closed.html", part="drill/_closed.html", context=context)


def _asked(
    request: AuthenticatedRequest,
    turn: Turn,
    question: Question,
    *,
    chosen: Collection[str] = (),
    sentence: str = "",
    status: int = 200,
) -> HttpResponse:
    context = pages.question_page(turn, question, chosen=chosen, sentence=sentence)
    return render_page(request, page="drill/question.html", part="drill/_question.html", context=context, status=status)


def _open_question(turn: Turn) -> Question:
    """The question of the turn that is next; any other is refused."""
    if turn != next_turn(turn.drill):
        raise BadPost(_("This question is not open now. Go back to the first page and go on from there."))
    try:
        return actions.show_turn(turn=turn, at=timezone.now())
    except Unreadable as problem:
        raise BadPost(_("This question cannot be shown any more. Go back to the first page.")) from problem


def _still_readable(turn: Turn) -> Question | None:
    try:
        return question_of(turn.version, turn.seed)
    except Unreadable:
        return None


def _own_drill(request: AuthenticatedRequest, drill_id: int) -> Drill:
    drills = Drill.objects.select_related("person__workshop__group", "person__group", "workshop")
    return get_object_or_404(drills, pk=drill_id, person=request.user)


def _own_turn(request: AuthenticatedRequest, drill_id: int, position: int) -> Turn:
    turns = Turn.objects.select_related("version__question", "drill__workshop")
    return get_object_or_404(turns, drill_id=drill_id, position=position, drill__person=request.user)

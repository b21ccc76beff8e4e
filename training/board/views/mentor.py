"""The mentor's list: who waits to be watched, and whose unsafe answers wait to be talked through."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from training.bank.models import QuestionVersion
from training.bank.queries import Unreadable, question_of, titles_of
from training.board.forms import read_note
from training.board.rooted import rests_on
from training.board.voices import voice_of
from training.board.waiting import may_talk_with, waiting_for_talk, waiting_for_tasks
from training.core.permission.authority import Court
from training.core.permission.evidence import UnsafeAnswer
from training.core.questions.kinds import Commitment, Question
from training.core.questions.marking import right_keys
from training.drill.actions import record_talk_through
from training.drill.facts import Answered
from training.drill.queries import history_of
from training.people.models import Person
from training.records.actions import Refused
from training.signoff.models import Draft
from training.signoff.queries import house_of_workshop
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest


@require_safe
def waiting(request: AuthenticatedRequest) -> HttpResponse:
    """Who waits for a task this mentor may observe, open observations, and unsafe answers to talk through."""
    mentor, now = request.user, timezone.now()
    drafts = Draft.objects.filter(mentor=mentor, signed_at=None, left_at=None).select_related("person", "task")
    house = house_of_workshop(mentor.workshop)
    context: dict[str, Any] = {"drafts": drafts, "rows": [], "talks": [], "book": house is not None}
    if house is not None:
        court = Court(house)
        rows = waiting_for_tasks(mentor.workshop, mentor, court, at=now)
        titles = titles_of(mentor.group_id, {row.task for row in rows})
        voice = voice_of(mentor.workshop, house.rule_book, now=now)
        context["rows"] = [
            {"waits": row, "title": titles[row.task], "for": [voice.job_types[key] for key in row.job_types]}
            for row in rows
        ]
        context["rests_on"] = rests_on(mentor, court, voice, at=now)
        context["talks"] = waiting_for_talk(mentor.workshop, mentor, court, at=now)
    return render_page(request, page="board/waiting.html", part="board/_waiting.html", context=context)


@require_http_methods(["GET", "HEAD", "POST"])
def talk_through(request: AuthenticatedRequest, person_id: int, number: int) -> HttpResponse:
    """Show one unsafe answer with the question and what was chosen; POST records the talk-through."""
    person = get_object_or_404(Person, pk=person_id, group=request.user.group, is_active=True)
    house = house_of_workshop(person.workshop)
    if house is None or not may_talk_with(Court(house), request.user, person, timezone.now()):
        raise Http404
    unsafe, answered = _unsafe_answer(person, number)
    if request.method == "POST":
        return _talked_through(request, person, unsafe)
    context = {"person": person, "answer": unsafe, **_what_was_chosen(person, answered)}
    return render_page(request, page="board/talk_through.html", part="board/_talk_through.html", context=context)


def _talked_through(request: AuthenticatedRequest, person: Person, unsafe: UnsafeAnswer) -> HttpResponse:
    note = read_note(request.POST)
    try:
        record_talk_through(person=person, answer=unsafe.record, note=note, by=request.user, at=timezone.now())
    except Refused as refused:
        raise BadPost(str(refused)) from refused
    if unsafe.right_since:
        messages.success(request, _("Recorded."))
    else:
        messages.success(request, _("Recorded. The question still has to be answered right on another day."))
    return redirect("board:waiting")


def _unsafe_answer(person: Person, number: int) -> tuple[UnsafeAnswer, Answered]:
    """The unsafe answer with this record number, and what was answered; anything else is 404."""
    history = history_of(person)
    unsafe = next((row for row in history.unsafe() if row.record == number), None)
    fact = next((row.fact for row in history.answers if row.number == number), None)
    if unsafe is None or fact is None:
        raise Http404
    return unsafe, fact


def _what_was_chosen(person: Person, answered: Answered) -> dict[str, Any]:
    """The question as it was asked, what was chosen and what is right; without the question what is on record."""
    question = _question(person, answered)
    acted = answered.commitment == Commitment.ACT
    if question is None:
        return {"question": None, "chosen": answered.response, "right": [], "acted": acted}
    texts = {option.key: option.text for option in question.options}
    return {
        "question": question,
        "chosen": [texts.get(key, key) for key in answered.response],
        "acted": acted,
        "right": [texts[key] for key in right_keys(question)] if question.options else [],
    }


def _question(person: Person, answered: Answered) -> Question | None:
    version = (
        QuestionVersion.objects.select_related("question")
        .filter(question__group_id=person.group_id, question__ident=answered.question, number=answered.version)
        .first()
    )
    try:
        return question_of(version, answered.seed) if version else None
    except Unreadable:
        return None

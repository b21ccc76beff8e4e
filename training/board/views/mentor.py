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
from training.bank.queries import question_of, titles_of
from training.bank.rule_books import rule_book_of
from training.board.voices import voice_of
from training.board.waiting import may_talk_with, waiting_for_talk, waiting_for_tasks
from training.core.permission.authority import Court
from training.core.questions.marking import right_keys
from training.drill.actions import record_talk_through
from training.drill.facts import Answered
from training.drill.queries import history_of
from training.people.models import Person
from training.records.actions import Refused
from training.records.queries import Written
from training.signoff.models import Draft
from training.signoff.queries import house_of_workshop
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest


@require_safe
def waiting(request: AuthenticatedRequest) -> HttpResponse:
    """Who waits for a task this mentor may observe, open observations, and unsafe answers to talk through."""
    mentor, now = request.user, timezone.now()
    rows = waiting_for_tasks(mentor.workshop, mentor, at=now)
    titles = titles_of(mentor.group_id, {row.task for row in rows})
    voice = voice_of(mentor.workshop, rule_book_of(mentor.workshop), now=now)
    context = {
        "rows": [
            {"waits": row, "title": titles[row.task], "for": [voice.job_types[key] for key in row.job_types]}
            for row in rows
        ],
        "drafts": Draft.objects.filter(mentor=mentor, signed_at=None, left_at=None).select_related("person", "task"),
        "talks": waiting_for_talk(mentor.workshop, mentor, at=now),
    }
    return render_page(request, page="board/waiting.html", part="board/_waiting.html", context=context)


@require_http_methods(["GET", "POST"])
def talk_through(request: AuthenticatedRequest, person_id: int, number: int) -> HttpResponse:
    """Show one unsafe answer with the question and what was chosen; POST records the talk-through."""
    person = get_object_or_404(Person, pk=person_id, group=request.user.group, is_active=True)
    house = house_of_workshop(person.workshop)
    if house is None or not may_talk_with(Court(house), request.user, person, timezone.now()):
        raise Http404
    history = history_of(person)
    answer = next((row for row in history.unsafe() if row.record == number), None)
    written = next((row for row in history.answers if row.number == number), None)
    if answer is None or written is None:
        raise Http404
    if request.method == "POST":
        try:
            record_talk_through(
                person=person, answer=number, note=request.POST.get("note", ""), by=request.user, at=timezone.now()
            )
        except Refused as refused:
            raise BadPost(str(refused)) from refused
        messages.success(request, _("Recorded. The question still has to be answered right on another day."))
        return redirect("board:waiting")
    context = {"person": person, "answer": answer, **_what_was_chosen(person, written)}
    return render_page(request, page="board/talk_through.html", part="board/_talk_through.html", context=context)


def _what_was_chosen(person: Person, written: Written[Answered]) -> dict[str, Any]:
    fact = written.fact
    assert fact is not None
    version = get_object_or_404(
        QuestionVersion.objects.select_related("question"),
        question__group_id=person.group_id,
        question__ident=fact.question,
        number=fact.version,
    )
    question = question_of(version, fact.seed)
    texts = {option.key: option.text for option in question.options}
    return {
        "question": question,
        "chosen": [texts.get(key, key) for key in fact.response],
        "right": [texts[key] for key in right_keys(question)] if question.options else [],
    }

"""A person's own first page: start the shift drill, and how far each job type is; and their tally."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from training.board.labels import Voice, cell_words, day_words, gap_words, supervisors_words, total_minutes, until_words
from training.board.queries import decide_all, read_workshop
from training.board.stored import Cell
from training.board.voices import voice_of
from training.core.permission.decision import Decision
from training.core.permission.rule_book import JobType
from training.drill.models import Drill
from training.drill.picking import job_types_sought
from training.drill.queries import history_of
from training.people.models import Person
from training.people.queries import people_of
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest

DRILL_MINUTES = 5


@require_safe
def home(request: AuthenticatedRequest) -> HttpResponse:
    """Start shift drill first; then every job type worked towards, with what is missing."""
    return render_page(request, page="board/home.html", part="board/_home.html", context=_own_answers(request.user))


@require_safe
def card(request: AuthenticatedRequest) -> HttpResponse:
    """The person's tally: what they may take now, worked out at this moment, to show or print."""
    return render_page(request, page="board/card.html", part="board/_card.html", context=_own_answers(request.user))


def _own_answers(person: Person) -> dict[str, Any]:
    now, site = timezone.now(), person.workshop
    reading = read_workshop(site, read_at=now)
    book = reading.rule_book
    voice = voice_of(site, book, now=now)
    context: dict[str, Any] = {"person": person, "workshop": site, "book": book, "minutes": DRILL_MINUTES}
    context["local_now"] = now.astimezone(voice.zone)
    context["open_drill"] = Drill.objects.filter(person=person, closed_at=None).first()
    context["unsafe"] = [row for row in history_of(person).unsafe() if row.closed_at is None]
    context["known_at"] = reading.known_at
    if book is None:
        return context
    everybody = {one.pk: one for one in [*people_of(site), person]}
    decided = decide_all(reading, everybody.values(), at=now)[person.key]
    sought = job_types_sought(person, book)
    held = [job_type for job_type in book.job_types if decided[job_type.key].until is not None]
    asked = [job_type for job_type in book.job_types if job_type in sought or job_type in held]
    context["answers"] = [_answer(job_type, decided[job_type.key], voice) for job_type in asked]
    context["held"] = [answer for answer in context["answers"] if answer["decision"].until is not None]
    return context


def _answer(job_type: JobType, decision: Decision, voice: Voice) -> dict[str, Any]:
    return {
        "job_type": job_type,
        "decision": decision,
        "words": cell_words(Cell(person=Person(), job_type=job_type.key, decision=decision), voice),
        "until": until_words(decision.ends_by, voice) if decision.ends_by else "",
        "supervisors": supervisors_words(decision, voice),
        "gaps": [gap_words(gap, voice) for gap in decision.gaps],
        "minutes": total_minutes(decision),
        "today": day_words(voice.today, voice),
    }

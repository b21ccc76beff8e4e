"""A person's own first page: start the shift drill, and how far each job type is; and their tally."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.http import HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from training.board.disputed import disputed_now
from training.board.labels import moment_words
from training.board.queries import Reading, decide_one, history_in, read_workshop, supervisors_worked_out
from training.board.small_shop.words import rests_on
from training.board.views.answers import answer_words
from training.board.voices import voice_in
from training.core.permission.rule_book import RuleBook
from training.core.permission.validity import in_force
from training.drill.models import Drill
from training.drill.picking import job_types_sought
from training.people.models import Person
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest

DRILL_MINUTES = 5


@require_safe
def home(request: AuthenticatedRequest) -> HttpResponse:
    """Start shift drill first; then every job type worked towards, with what is missing."""
    context = _own_answers(request.user)
    context["open_drill"] = Drill.objects.filter(person=request.user, closed_at=None).first()
    return render_page(request, page="board/home.html", part="board/_home.html", context=context)


@require_safe
def card(request: AuthenticatedRequest) -> HttpResponse:
    """The person's tally: what they may take now, worked out at this moment, to show or print."""
    context = _own_answers(request.user)
    context["held"] = [answer for answer in context["answers"] if answer["decision"].until is not None]
    return render_page(request, page="board/card.html", part="board/_card.html", context=context)


def _scope(reading: Reading, person: Person, today: date) -> dict[str, list[str]]:
    """What the person's appointments in force are limited to, and what they leave out, in their own words."""
    evidence = reading.everybody.get(person.key)
    lasting = [one for one in evidence.appointments if in_force(one, reading.workshop.key, today)] if evidence else []
    return {
        "families": sorted({family for one in lasting for family in one.vehicle_families}),
        "may_not": sorted({said for one in lasting for said in one.may_not}),
    }


def _own_answers(person: Person) -> dict[str, Any]:
    """Where the person stands in every job type sought or held, worked out now."""
    now, site = timezone.now(), person.workshop
    reading = read_workshop(site, read_at=now)
    book = reading.rule_book
    voice = voice_in(reading, now=now)
    decided = _decided(reading, book, person) if book else {}
    disputed = disputed_now(reading, person)
    return {
        "person": person,
        "workshop": site,
        "book": book,
        "minutes": DRILL_MINUTES,
        "clock": moment_words(now, voice),
        "known_at": reading.known_at,
        **_scope(reading, person, voice.today),
        "unsafe": [row for row in history_in(reading, person).unsafe() if row.closed_at is None],
        "answers": [
            {
                "job_type": book.job_type(key),
                "small_shop": rests_on(decision, reading.small_shops, voice),
                **answer_words(decision, voice, disputed),
            }
            for key, decision in decided.items()
            if book is not None
        ],
    }


def _decided(reading: Reading, book: RuleBook, person: Person) -> dict[str, Any]:
    """Decisions of the job types that the person seeks or holds, in the order of the rule book."""
    at = reading.read_at
    sought = {job_type.key for job_type in job_types_sought(person, book, at=at)}
    supervisors = supervisors_worked_out(reading, besides=person, at=at)
    decided = decide_one(reading, person, at=at, supervisors=supervisors)
    return {key: decision for key, decision in decided.items() if key in sought or decision.until is not None}

"""The clearance board, and what opens from one of its cells."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from training.bank.rule_books import rule_book_of
from training.board.labels import Voice, cell_words, gap_words, supervisors_words, total_minutes, until_words
from training.board.queries import decision_for
from training.board.stored import Cell, cells_of
from training.board.voices import voice_of
from training.core.permission.decision import Decision
from training.core.permission.rule_book import RuleBook
from training.drill.picking import job_types_sought
from training.people.models import Person, Workshop
from training.people.queries import is_manager, people_of
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest


@require_safe
def board(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """Everybody of a workshop and every job type in words, from stored clearances that can still be believed."""
    site = get_object_or_404(Workshop.objects.select_related("group"), slug=workshop, group=request.user.group)
    now, book = timezone.now(), rule_book_of(site)
    voice = voice_of(site, book, now=now)
    manager = is_manager(request.user)
    context = {
        "workshop": site,
        "sites": Workshop.objects.filter(group=request.user.group).order_by("name"),
        "book": book,
        "rows": _rows(site, book, voice, manager) if book else [],
        "manager": manager,
        "local_now": now.astimezone(voice.zone),
    }
    return render_page(request, page="board/board.html", part="board/_board.html", context=context)


@require_safe
def cell(request: AuthenticatedRequest, workshop: str, person_id: int, job_type: str) -> HttpResponse:
    """One person and job type, worked out now: until when and why, or all that is missing. For managers and oneself."""
    site = get_object_or_404(Workshop.objects.select_related("group"), slug=workshop, group=request.user.group)
    person = get_object_or_404(Person, pk=person_id, group=request.user.group, is_active=True)
    manager = is_manager(request.user)
    if person != request.user and not manager:
        raise Http404
    now = timezone.now()
    try:
        decision = decision_for(person, site, job_type, now)
    except KeyError as unknown:
        raise Http404 from unknown
    book = rule_book_of(site)
    voice = voice_of(site, book, now=now)
    context = {
        "workshop": site,
        "person": person,
        "job_type": book.job_type(job_type) if book else None,
        "decision": decision,
        "manager": manager,
        "local_now": now.astimezone(voice.zone),
        **answer_words(decision, voice),
    }
    return render_page(request, page="board/cell.html", part="board/_cell.html", context=context)


def answer_words(decision: Decision, voice: Voice) -> dict[str, Any]:
    """An answer in words for a page: until when, under whom, every gap with its way."""
    return {
        "until": until_words(decision.ends_by, voice) if decision.ends_by else "",
        "supervisors": supervisors_words(decision, voice),
        "gaps": [gap_words(gap, voice) for gap in decision.gaps],
        "minutes": total_minutes(decision),
        "words": cell_words(Cell(person=Person(), job_type=decision.job_type, decision=decision), voice),
    }


def _rows(site: Workshop, book: RuleBook, voice: Voice, manager: bool) -> list[dict[str, Any]]:
    """A row per person. Colleagues read until when or not now; what is missing and why is for managers."""
    people = list(people_of(site))
    cells = cells_of(site, people, [job_type.key for job_type in book.job_types], at=voice.now)
    return [
        {
            "person": person,
            "cells": [
                _cell(cells[person.pk, job_type.key], voice, person, book, manager) for job_type in book.job_types
            ],
        }
        for person in people
    ]


def _cell(found: Cell, voice: Voice, person: Person, book: RuleBook, manager: bool) -> dict[str, Any]:
    sought = found.job_type in {job_type.key for job_type in job_types_sought(person, book)}
    words = cell_words(found, voice, sought=sought, for_colleagues=not manager)
    return {"words": words, "job_type": book.job_type(found.job_type)}

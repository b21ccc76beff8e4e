"""The clearance board, and what opens from one of its cells."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from training.bank.rule_books import rule_book_of
from training.board.disputed import disputed_now
from training.board.gaps import first_way
from training.board.labels import CellWords, Voice, cell_words, colleague_words, moment_words
from training.board.queries import decision_in, read_workshop
from training.board.small_shop.words import rests_on
from training.board.stored import Cell, cells_of, is_trusted
from training.board.views.answers import answer_words
from training.board.voices import voice_in, voice_of
from training.board.work.stopped import stopped_at, stops_for
from training.core.permission.rule_book import JobType, RuleBook
from training.drill.picking import job_types_sought_at
from training.people.models import Person, Workshop
from training.people.queries import is_manager, people_of
from training.people.views.finding import workshop_of
from training.records.queries import head_of
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest


@require_safe
def board(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """Everybody of a workshop and every job type in words, from stored clearances that can still be believed."""
    site = workshop_of(request, workshop)
    now, book = timezone.now(), rule_book_of(site)
    voice = voice_of(site, book, now=now)
    own = stops_for(request.user, at=now)
    context = {
        "workshop": site,
        "stops": own,
        "sites": Workshop.objects.filter(group=request.user.group).order_by("name"),
        "book": book,
        "rows": _rows(site, book, voice, request.user) if book else [],
        "wall": stopped_at(site, at=now, besides=[one.line.key for one in own.stopped]),
        "trusted": is_trusted(head_of(site.group.chain_id), now),
        "clock": moment_words(now, voice),
    }
    return render_page(request, page="board/board.html", part="board/_board.html", context=context)


@require_safe
def cell(request: AuthenticatedRequest, workshop: str, person_id: int, job_type: str) -> HttpResponse:
    """One person and job type, worked out now: until when and why, or all that is missing. For managers and oneself."""
    site = workshop_of(request, workshop)
    manager = is_manager(request.user)
    people = Person.objects.filter(group=request.user.group, is_active=True)
    person = get_object_or_404(people if manager else people.filter(pk=request.user.pk), pk=person_id)
    now = timezone.now()
    reading = read_workshop(site, read_at=now)
    book = reading.rule_book
    try:
        asked = book.job_type(job_type) if book else None
        decision = decision_in(reading, person, job_type, now)
    except KeyError as unknown:
        raise Http404 from unknown
    voice = voice_in(reading, now=now)
    context = {
        "workshop": site,
        "person": person,
        "job_type": asked,
        "manager": manager,
        "clock": moment_words(now, voice),
        "small_shop": rests_on(decision, reading.small_shops, voice),
        **answer_words(decision, voice, disputed_now(reading, person)),
    }
    return render_page(request, page="board/cell.html", part="board/_cell.html", context=context)


def _rows(site: Workshop, book: RuleBook, voice: Voice, viewer: Person) -> list[dict[str, Any]]:
    """A row per person. Colleagues read until when or not now; what is missing is for managers and for oneself."""
    people = list(people_of(site))
    cells = cells_of(site, people, [job_type.key for job_type in book.job_types], at=voice.now)
    sought = job_types_sought_at(site, people, book, at=voice.now)
    manager = is_manager(viewer)
    return [
        {
            "person": person,
            "opens": manager or person.pk == viewer.pk,
            "cells": [
                {
                    "job_type": job_type,
                    "words": _words(cells[person.pk, job_type.key], voice, sought[person.pk])
                    if manager or person.pk == viewer.pk
                    else colleague_words(cells[person.pk, job_type.key], voice),
                }
                for job_type in book.job_types
            ],
        }
        for person in people
    ]


def _words(found: Cell, voice: Voice, sought: list[JobType]) -> CellWords:
    is_sought = found.job_type in {job_type.key for job_type in sought}
    return cell_words(found, voice, first=first_way(found.decision, voice) if found.decision else "", sought=is_sought)

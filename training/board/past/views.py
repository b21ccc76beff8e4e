"""Any past moment, for auditors and managers: who could take which job then, and the records that it stood on."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from training.board.disputed import disputed_now
from training.board.gaps import first_way
from training.board.labels import Voice, cell_words, moment_words
from training.board.past.moment import Moment, NoSuchMoment, moment_of
from training.board.past.queries import Proof, proofs_of, team_ever
from training.board.queries import Reading, decide_all, read_workshop
from training.board.small_shop.words import rests_on
from training.board.stored import Cell
from training.board.views.answers import answer_words
from training.board.voices import voice_in
from training.core.permission.decision import Decision
from training.core.permission.mapping import as_mapping
from training.people.models import Person, RoleHeld, Workshop
from training.people.queries import roles_of
from training.people.views.finding import workshop_of
from training.records.canonical import canonical_text
from training.records.seal import first_bad_record
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest

OPEN_TO = {RoleHeld.Role.MANAGER, RoleHeld.Role.AUDITOR}


@require_safe
def past(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """Everybody of a workshop and every job type, as of an instant and as known at a record, worked out now."""
    site = _workshop(request, workshop)
    context: dict[str, Any] = {**_asked(request), "workshop": site, "verified": "verify" in request.GET}
    if context["verified"]:
        context["first_bad"] = first_bad_record(site.group.chain_id)
    try:
        reading, moment = _reading(request, site)
    except NoSuchMoment as wrong:
        return render_page(
            request, page="board/past.html", part="board/_past.html", context={**context, "wrong": wrong}
        )
    voice = _voice(reading, moment)
    context |= {"reading": reading, "book": reading.rule_book, **_told(moment, voice)}
    if reading.rule_book:
        context["rows"] = _rows(reading, moment, voice)
    return render_page(request, page="board/past.html", part="board/_past.html", context=context)


@require_safe
def past_answer(request: AuthenticatedRequest, workshop: str, person_id: int, job_type: str) -> HttpResponse:
    """One answer about the past with everything that was missing and every record that it stood on."""
    site = _workshop(request, workshop)
    person = get_object_or_404(team_ever(site), pk=person_id)
    try:
        reading, moment = _reading(request, site)
    except NoSuchMoment as wrong:
        raise Http404 from wrong
    decision = decide_all(reading, team_ever(site), at=moment.at)[person.key].get(job_type)
    if reading.rule_book is None or decision is None:
        raise Http404
    if "bytes" in request.GET:
        return HttpResponse(canonical_text(as_mapping(decision)), content_type="application/json")
    voice = _voice(reading, moment)
    context = {
        **_asked(request),
        **_told(moment, voice),
        **answer_words(decision, voice, disputed_now(reading, person)),
        "small_shop": rests_on(decision, reading.small_shops, voice),
        "workshop": site,
        "person": person,
        "job_type": reading.rule_book.job_type(job_type),
        "reading": reading,
        "proofs": _proofs(request, site, decision, voice),
    }
    return render_page(request, page="board/past_answer.html", part="board/_past_answer.html", context=context)


def _workshop(request: AuthenticatedRequest, slug: str) -> Workshop:
    if not OPEN_TO & roles_of(request.user):
        raise PermissionDenied(_("Only an auditor or a manager may ask about past moments."))
    return workshop_of(request, slug)


def _asked(request: AuthenticatedRequest) -> dict[str, str]:
    at, known_at = request.GET.get("at", ""), request.GET.get("known_at", "")
    return {"at_text": at, "known_text": known_at, "query": urlencode({"at": at, "known_at": known_at})}


def _reading(request: AuthenticatedRequest, site: Workshop) -> tuple[Reading, Moment]:
    now, asked = timezone.now(), _asked(request)
    moment = moment_of(asked["at_text"], asked["known_text"], site, now=now)
    return read_workshop(site, read_at=now, known_at=moment.known_at, at=moment.at), moment


def _voice(reading: Reading, moment: Moment) -> Voice:
    voice = voice_in(reading, now=moment.at)
    return replace(voice, read_on=voice.day_of(timezone.now()))


def _told(moment: Moment, voice: Voice) -> dict[str, Any]:
    return {"moment": moment, "clock": moment_words(moment.at, voice), "iso": moment.at.isoformat()}


def _rows(reading: Reading, moment: Moment, voice: Voice) -> list[dict[str, Any]]:
    team = team_ever(reading.workshop)
    decided = decide_all(reading, team, at=moment.at)
    return [
        {"person": person, "cells": [_cell(person, one, voice) for one in decided[person.key].values()]}
        for person in team
    ]


def _cell(person: Person, decision: Decision, voice: Voice) -> dict[str, Any]:
    cell = Cell(person=person, job_type=decision.job_type, decision=decision)
    words = cell_words(cell, voice, first=first_way(decision, voice))
    return {"key": decision.job_type, "title": voice.job_types[decision.job_type], "words": words}


def _proofs(request: AuthenticatedRequest, site: Workshop, decision: Decision, voice: Voice) -> list[Proof]:
    """The records of the proofs and of the gaps. Single answers are told to auditors only."""
    numbers = {*decision.proofs, *(number for gap in decision.gaps for number in gap.records)}
    sees_answers = RoleHeld.Role.AUDITOR in roles_of(request.user)
    return proofs_of(site, numbers, voice, proved=set(decision.proofs), viewer=request.user, sees_answers=sees_answers)

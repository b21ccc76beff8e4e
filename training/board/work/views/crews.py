"""Today's crews, for managers: who could take which job, the crews that staff most, and what would unlock more."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from training.bank.rule_books import rule_book_of
from training.board.gaps import gap_words
from training.board.labels import Voice, day_words
from training.board.voices import voice_of
from training.board.work.crews import Day, crews_of_day
from training.board.work.jobs import JobRead
from training.board.work.lines import line_of
from training.board.work.writing import name_crew
from training.core.permission.crew import Crew, CrewJob, Unlock
from training.people.models import Workshop
from training.people.queries import is_manager, people_of
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest

MOST_UNLOCKS = 3


@require_http_methods(["GET", "HEAD", "POST"])
def crews(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """The page; a post names the crew of one job."""
    site = get_object_or_404(Workshop.objects.select_related("group"), slug=workshop, group=request.user.group)
    if not is_manager(request.user):
        raise PermissionDenied(_("Only a manager may open this page."))
    now = timezone.now()
    if request.method == "POST":
        return _name(request, site)
    book = rule_book_of(site)
    voice = voice_of(site, book, now=now)
    day = crews_of_day(site, at=now)
    context = {
        "workshop": site,
        "day": day_words(voice.today, voice),
        "book": book,
        "refused": day.refused,
        "rows": _rows(day, voice),
        "staffed": len(day.crews),
        "asked": len(day.waiting),
        "unlocks": [_unlock_words(one, voice) for one in day.unlocks[:MOST_UNLOCKS]],
        "people": [(person.key, person.full_name) for person in people_of(site)],
    }
    return render_page(request, page="board/crews.html", part="board/_crews.html", context=context)


def _name(request: AuthenticatedRequest, site: Workshop) -> HttpResponse:
    said = {name: request.POST.get(name, "") for name in ("key", "lead", "second")}
    try:
        name_crew(workshop=site, by=request.user, at=timezone.now(), **said)
    except Refused as refused:
        raise BadPost(str(refused)) from refused
    messages.success(request, _("The crew is named. The start of work asks everything anew."))
    return redirect("board:crews", workshop=site.slug)


def _rows(day: Day, voice: Voice) -> list[dict[str, Any]]:
    crews_by_job = {crew.job: crew for crew in day.crews}
    waiting = {job.key: job for job in day.waiting}
    return [
        {
            "line": line_of(job, voice),
            "open": _open_words(waiting[job.key], crews_by_job.get(job.key), voice) if job.key in waiting else None,
            "is_named": _is_named(job, crews_by_job.get(job.key)),
            "lead_key": job.lead,
            "second_key": job.second,
        }
        for job in day.jobs
    ]


def _is_named(job: JobRead, crew: Crew | None) -> bool:
    """Whether the crew that is proposed is the one that is named already."""
    return crew is not None and (crew.lead, crew.second) == (job.lead, job.second)


def _open_words(job: CrewJob, crew: Crew | None, voice: Voice) -> dict[str, Any]:
    def named(keys: frozenset[str]) -> list[str]:
        return sorted(voice.names.get(key, "?") for key in keys)

    return {
        "asks_second": job.asks_second,
        "may_lead": named(job.may_lead),
        "may_second": named(job.may_second),
        "crew": crew,
        "lead": voice.names.get(crew.lead, "?") if crew else "",
        "second": voice.names.get(crew.second, "?") if crew and crew.second else "",
    }


def _unlock_words(unlock: Unlock, voice: Voice) -> dict[str, Any]:
    words = gap_words(unlock.gap, voice)
    return {
        "name": voice.names.get(unlock.person, "?"),
        "title": words.title,
        "way": words.way,
        "jobs": unlock.jobs,
        "today": unlock.in_time(voice.today),
        "earliest": day_words(unlock.gap.remedy.earliest_on, voice) if unlock.gap.remedy.earliest_on else "",
    }

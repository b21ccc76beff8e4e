"""The page of one job: where it stands, what comes next, and everything that is written while it runs; planning one."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from training.bank.queries import newest_tasks
from training.bank.rule_books import rule_book_of
from training.board.labels import Voice, moment_words
from training.board.voices import voice_of
from training.board.work.asking import Asking
from training.board.work.forms import new_token
from training.board.work.job_form import JobForm
from training.board.work.job_forms import FORMS
from training.board.work.jobs import JobRead, job_on_record
from training.board.work.lines import line_of
from training.board.work.offering import open_forms
from training.board.work.plan_form import PlanForm
from training.board.work.standing import Headline, headline, log_of, readings_of
from training.board.work.stopped import stops_for
from training.board.work.watch import fallen
from training.board.work.words import reasons_words
from training.board.work.writing import NotYet, confirm_done, plan_job, waiting_to_be_confirmed, write
from training.core.permission.start_of_work import SECOND_PERSON
from training.core.trade.reasons import Reason
from training.equipment.models import KitItem
from training.people.models import Person, Workshop
from training.people.queries import is_manager, people_of
from training.people.views.finding import workshop_of
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.htmx import render_page, wants_part
from training.web.requests import AuthenticatedRequest

QUIET = ("away", "offer", "told", "remove", "call_off")  # these fold away: they are not the next step
HANDING_BACK = ("count", "insulation", "warned", "lock_off", "energise", "label_off", "close")


@require_http_methods(["GET", "HEAD", "POST"])
def job(request: AuthenticatedRequest, workshop: str, key: str) -> HttpResponse:
    """Where a job stands, worked out now; a post writes one step, or says what comes first and keeps what was typed."""
    site = workshop_of(request, workshop)
    found = job_on_record(site, key)
    if found is None:
        raise Http404
    now = timezone.now()
    asking = _asking(request, site, found)
    if request.method != "POST":
        return _shown(request, site, found, asking)
    name = request.POST.get("form", "")
    if name not in FORMS:
        raise BadPost(_("What was sent could not be read. Nothing was recorded. Open the job anew."))
    form = FORMS[name](request.POST, asking=asking, prefix=name)
    if not form.is_valid():
        return _shown(request, site, found, asking, tried=(name, form), status=400)
    try:
        write(form.fact(), key=key, workshop=site, by=request.user, at=now)
    except NotYet as first:
        return _shown(request, site, found, asking, tried=(name, form), first=first.reasons, status=409)
    except Refused as refused:
        raise BadPost(str(refused)) from refused
    return redirect("board:job", workshop=site.slug, key=key)


@require_POST
def done(request: AuthenticatedRequest, workshop: str, key: str) -> HttpResponse:
    """Somebody else on the job confirms that a task was done."""
    site = workshop_of(request, workshop)
    person, task = request.POST.get("person", ""), request.POST.get("task", "")
    try:
        confirm_done(key=key, workshop=site, person=person, task=task, by=request.user, at=timezone.now())
    except Refused as refused:
        raise BadPost(str(refused)) from refused
    messages.success(request, _("Confirmed. It counts as last done, never as a sign-off."))
    return redirect("board:job", workshop=site.slug, key=key)


@require_http_methods(["GET", "HEAD", "POST"])
def plan(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """Plan a job: a manager any, everybody else one that they lead themselves."""
    site = workshop_of(request, workshop)
    book = rule_book_of(site)
    job_types = (
        [(one.key, f"{one.key} {one.title}") for one in book.job_types if one.key != SECOND_PERSON] if book else []
    )
    tasks = [(ident, f"{ident} {task.title}") for ident, task in newest_tasks(site.group_id).items()]
    said = request.POST if request.method == "POST" else None
    form = PlanForm(said, workshop=site, job_types=job_types, tasks=tasks, initial=_at_first(request, site))
    context: dict[str, Any] = {"workshop": site, "form": form, "book": book}
    if not form.is_bound:
        return render_page(request, page="board/job_plan.html", part="board/_job_plan.html", context=context)
    if not form.is_valid():
        return render_page(
            request, page="board/job_plan.html", part="board/_job_plan.html", context=context, status=400
        )
    try:
        own = form.cleaned_data["token"]
        key = plan_job(form.planned(), workshop=site, by=request.user, at=timezone.now(), key=own)
    except NotYet as first:
        context["first"] = reasons_words(first.reasons, voice_of(site, book, now=timezone.now()))
        return render_page(
            request, page="board/job_plan.html", part="board/_job_plan.html", context=context, status=409
        )
    except Refused as refused:
        raise BadPost(str(refused)) from refused
    return redirect("board:job", workshop=site.slug, key=key)


def _at_first(request: AuthenticatedRequest, site: Workshop) -> dict[str, Any]:
    """What the form of a plan begins with: now, and oneself as lead for whoever may plan no other job."""
    here = timezone.now().astimezone(ZoneInfo(site.zone))
    lead = None if is_manager(request.user) else request.user.pk
    return {"token": new_token(), "starts": here.strftime("%Y-%m-%dT%H:%M"), "lead": lead}


def _asking(request: AuthenticatedRequest, site: Workshop, found: JobRead) -> Asking:
    fact = found.start.fact if found.start else None
    meters = KitItem.objects.filter(workshop=site, kind="meter", key__in=fact.kit if fact else [])
    return Asking(
        job=found,
        viewer=request.user,
        is_manager=is_manager(request.user),
        at=timezone.now(),
        people=[(person.key, person.full_name) for person in people_of(site)],
        instruments=list(meters.values_list("ident", flat=True)),
    )


def _shown(
    request: AuthenticatedRequest,
    site: Workshop,
    found: JobRead,
    asking: Asking,
    *,
    tried: tuple[str, JobForm] | None = None,
    first: Sequence[Reason] = (),
    status: int = 200,
) -> HttpResponse:
    now = asking.at
    voice = voice_of(site, rule_book_of(site), now=now)
    down = fallen(site, found, at=now)
    own_job = found.is_waiting and request.user.key == found.lead
    names = open_forms(found, request.user.key, is_manager=asking.is_manager or own_job, fallen=down, at=now)
    forms = {name: FORMS[name](asking=asking, prefix=name) for name in names}
    if tried is not None:
        forms[tried[0]] = tried[1]
    stands = headline(found, voice, down)
    people = _people(found, voice, stands)
    if wants_part(request) and request.GET.get("stood") == _mark(stands, people):
        return HttpResponse(status=204)
    context = {
        "workshop": site,
        "job": found,
        "stops": stops_for(request.user, at=now, besides=found.key),
        "may_read": stands.tone == "stop" and request.user.key not in stands.read,
        "line": line_of(found, voice),
        "people": people,
        "stands": stands,
        "mark": _mark(stands, people),
        "first": reasons_words(first, voice),
        **_laid_out(forms, found, stands, leads=request.user.key == found.lead),
        "tried": tried[0] if tried else "",
        "readings": readings_of(found, voice),
        "log": log_of(found, voice),
        "to_confirm": _to_confirm(found, site, request.user, voice),
        "takes_over": found.state.offered_to == request.user.key,
        "may_restart": found.is_running and (request.user.key == found.lead or asking.is_manager),
        "clock": moment_words(now, voice),
    }
    return render_page(request, page="board/job.html", part="board/_job.html", context=context, status=status)


def _laid_out(forms: dict[str, JobForm], found: JobRead, stands: Headline, *, leads: bool) -> dict[str, Any]:
    """The forms in their places: stopping above all, the next step open, what comes later and what is done folded.

    While the work has to stop no step is the next: everything folds away.
    """
    state = found.state
    back = {"count": state.back.counted, "insulation": state.back.insulation, "warned": state.back.warned}
    done = {name for name, what in (back | {"measure": state.proof}).items() if what}
    ahead = [name for name in forms if name not in (*QUIET, "stop") and name not in done]
    opened = 0 if stands.tone == "stop" and ahead[:1] != ["agree"] else 1
    folded = [*ahead[opened:], *(name for name in forms if name in done), *(name for name in forms if name in QUIET)]
    return {
        "stop": forms.get("stop"),
        "next": [(name, forms[name]) for name in ahead[:opened]],
        "more": [(name, forms[name]) for name in folded],
        "handing_back": leads and found.is_running and ahead[:1] != [] and ahead[0] in HANDING_BACK,
        "done": [forms[name].title for name in back if name in done and name in forms],
    }


def _people(found: JobRead, voice: Voice, stands: Headline) -> list[dict[str, str]]:
    """Everybody on the job: what they are on it, whether their lock is on, whether they are away or know of a stop."""
    state = found.state
    roles = {found.lead: _("person in control"), found.second: _("second person")}
    if state.start is not None and state.start.supervisor:
        roles[state.start.supervisor] = _("supervisor")
    keys = [key for key in dict.fromkeys((*roles, *state.people, *stands.read)) if key]
    return [
        {"name": voice.names.get(key, "?"), "says": _person_words(found, key, roles.get(key, ""), stands, voice)}
        for key in keys
    ]


def _person_words(found: JobRead, key: str, role: str, stands: Headline, voice: Voice) -> str:
    lock = found.state.lock_of(key)
    parts = [role] if role else []
    parts += (
        [_("own lock on: %(number)s, since %(at)s") % {"number": lock.number, "at": _clock(lock.since, voice)}]
        if lock
        else []
    )
    parts += [_("away")] if key in found.state.away else []
    parts += [_("to be told: lock taken off")] if key in found.state.to_tell else []
    if not role and key not in found.state.busy and key not in stands.read:
        parts.append(_("not on the job any more") if found.is_running else _("was on the job"))
    if stands.tone == "stop" and (key in found.state.busy or key in stands.read):
        parts.append(_("has read the stop") if key in stands.read else _("has not read the stop yet"))
    return " · ".join(parts)


def _clock(instant: datetime, voice: Voice) -> str:
    """The time of day, with the day where it is another one."""
    local = instant.astimezone(voice.zone)
    return f"{local:%H:%M}" if local.date() == voice.today else moment_words(instant, voice)


def _mark(stands: Headline, people: Sequence[dict[str, str]]) -> str:
    """Stands for what the page says of the job, so that an open page is told only of what is new."""
    return hashlib.sha256(repr((stands, people)).encode()).hexdigest()[:16]


def _to_confirm(found: JobRead, site: Workshop, viewer: Person, voice: Voice) -> list[dict[str, str]]:
    return [
        {"person": key, "name": voice.names.get(key, "?"), "task": task, "title": voice.tasks.get(task, task)}
        for key, task in waiting_to_be_confirmed(found, site, by=viewer.key)
    ]

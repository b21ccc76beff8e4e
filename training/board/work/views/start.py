"""The pages of the start of work: the question with its answer, and a start that is on record."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from training.bank.rule_books import house_of, rule_book_of
from training.board.labels import day_words
from training.board.queries import read_workshop
from training.board.voices import voice_of
from training.board.work.actions import Answered, Asked, answer
from training.board.work.forms import Asks, StartForm, job_of, new_token
from training.board.work.jobs import JobRead, job_on_record, jobs_of_day
from training.board.work.lines import as_planned, lines_of
from training.board.work.queries import start_on_record, told
from training.board.work.watch import appointments_of
from training.board.work.words import told_in_groups
from training.core.permission.rule_book import JobType, RuleBook
from training.core.permission.scope import left_out
from training.core.permission.start_of_work import SECOND_PERSON
from training.core.trade.calendar import local_day
from training.equipment.models import KitItem
from training.equipment.queries import KitRow, kit_of
from training.equipment.words import KINDS, standing
from training.people.models import Person, Workshop
from training.people.queries import is_manager
from training.people.views.finding import workshop_of
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest

PAGE, PART = "board/start_of_work.html", "board/_start_of_work.html"


@require_http_methods(["GET", "HEAD", "POST"])
def start_of_work(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """Ask whether a job may start: the job type, then the form; yes goes to the record, else all that is missing."""
    site = workshop_of(request, workshop)
    book = rule_book_of(site)
    job_type = _job_type(request, book)
    if book is None or job_type is None:
        return _choose(request, site, book)
    rows = [row for row in kit_of(site) if row.retired is None and row.item.retired_on is None]
    asks = _asks(book, job_type)
    job = _job(request, site)
    form = _form(request, asks, site, rows, job)
    context = {
        "workshop": site,
        "job_type": job_type,
        "job": job,
        "limits": _limits(site, job, job_type),
        "form": form,
        "asks": asks,
        "lead_kit": _kit_by_kind(form, "lead_kit", asks.lead_kinds, rows, site),
        "second_kit": _kit_by_kind(form, "second_kit", asks.second_kinds, rows, site),
    }
    if not form.is_bound:
        return render_page(request, page=PAGE, part=PART, context=context)
    if not form.is_valid():
        return render_page(request, page=PAGE, part=PART, context=context, status=400)
    answered = _answered(request, form, asks, site, job)
    if answered.number is not None:
        return redirect("board:started", workshop=site.slug, number=answered.number)
    lead = form.cleaned_data["lead"]
    context |= {"answered": True, "lead": lead, "groups": _groups(request, answered, book, site)}
    return render_page(request, page=PAGE, part=PART, context=context)


@require_safe
def started(request: AuthenticatedRequest, workshop: str, number: int) -> HttpResponse:
    """A start of work that was answered yes: who, what, with which kit, planned to when, and its record."""
    site = workshop_of(request, workshop)
    row = start_on_record(site, number)
    if row is None or row.fact is None:
        raise Http404
    fact, book = row.fact, rule_book_of(site)
    voice = voice_of(site, book, now=timezone.now())
    people = {person.key: person for person in Person.objects.filter(group=site.group)}
    supervisor = (told(fact).get("supervisor") or {}).get("person", "")
    context = {
        "workshop": site,
        "number": row.number,
        "job_key": row.about,
        "fact": fact,
        "title": voice.job_types.get(fact.job_type, fact.job_type),
        "lead": people.get(fact.lead),
        "second": people.get(fact.second_person),
        "supervisor": people.get(supervisor) if _is_supervised(told(fact)) else None,
        "kit": KitItem.objects.filter(workshop=site, key__in=fact.kit),
        "planned_end": _local_words(fact.planned_end.astimezone(voice.zone), voice),
        "answered_at": _local_words(row.recorded_at.astimezone(voice.zone), voice),
        "over": fact.planned_end <= voice.now,
    }
    return render_page(request, page="board/started.html", part="board/_started.html", context=context)


def _job(request: AuthenticatedRequest, site: Workshop) -> JobRead | None:
    """The job that the start of work is about; None for one that nobody planned."""
    key = request.POST.get("job", "") if request.method == "POST" else request.GET.get("job", "")
    if not key:
        return None
    job = job_on_record(site, key)
    if job is None or job.state.over is not None:
        raise BadPost(_("There is no such job here, or it is over. Choose one from the list."))
    return job


def _job_type(request: AuthenticatedRequest, book: RuleBook | None) -> JobType | None:
    """The job type asked for; None when none was chosen yet. A word that the rule book does not have is a bad post."""
    key = request.POST.get("job_type", "") if request.method == "POST" else request.GET.get("job_type", "")
    if book is not None and key and key != SECOND_PERSON:
        for job_type in book.job_types:
            if job_type.key == key:
                return job_type
    if key or request.method == "POST":
        raise BadPost(_("The rule book in force here has no such job type. Choose one from the list."))
    return None


def _choose(request: AuthenticatedRequest, site: Workshop, book: RuleBook | None) -> HttpResponse:
    """The jobs planned for today first, then the job types for one that nobody planned."""
    now = timezone.now()
    job_types = [job_type for job_type in book.job_types if job_type.key != SECOND_PERSON] if book else []
    found = lines_of(jobs_of_day(site, local_day(now, site.zone)), voice_of(site, book, now=now))
    context = {"workshop": site, "book": book, "job_types": job_types, "jobs": found}
    return render_page(request, page=PAGE, part=PART, context=context)


def _asks(book: RuleBook, job_type: JobType) -> Asks:
    role = next((one for one in book.job_types if one.key == SECOND_PERSON), None)
    return Asks(job_type=job_type, role_kinds=role.at_start.kit_kinds if role else ())


def _limits(site: Workshop, job: JobRead | None, job_type: JobType) -> list[str]:
    """What the appointments of the lead who is named leave out, to be read before the job."""
    if job is None or not job.lead:
        return []
    now = timezone.now()
    today = local_day(now, site.zone)
    reading = read_workshop(site, read_at=now)
    return list(left_out(appointments_of(reading, job.lead, job_type, today, today)))


def _form(
    request: AuthenticatedRequest, asks: Asks, site: Workshop, rows: list[KitRow], job: JobRead | None
) -> StartForm:
    if request.method == "POST":
        return StartForm(request.POST, asks=asks, workshop=site, rows=rows)
    here = request.user.pk if request.user.workshop_id == site.pk else None
    initial = {"token": new_token(), "lead": here} | (as_planned(job, site) if job else {})
    if job is not None and job.state.offered_to == request.user.key:
        initial["lead"] = request.user.pk
    return StartForm(asks=asks, workshop=site, rows=rows, initial=initial)


def _answered(
    request: AuthenticatedRequest, form: StartForm, asks: Asks, site: Workshop, job: JobRead | None
) -> Answered:
    said = form.cleaned_data
    asked = Asked(
        key=said["token"],
        workshop=site,
        job_type=asks.job_type.key,
        lead=said["lead"],
        second=said.get("second_person"),
        supervisor=said["supervisor"],
        lead_kit=frozenset(map(int, said["lead_kit"])),
        second_kit=frozenset(map(int, said.get("second_kit", ()))),
        job=job_of(said, asks, site),
        answers=form.answers(),
        on_job=job.key if job else "",
        bay=said["bay"],
        tasks=tuple(job.said.tasks) if job and job.said else (),
    )
    try:
        return answer(asked, by=request.user, at=timezone.now())
    except Refused as refused:
        raise BadPost(str(refused)) from refused


def _groups(request: AuthenticatedRequest, answered: Answered, book: RuleBook, site: Workshop) -> Any:
    names = {person.key: person.full_name for person in Person.objects.filter(group=site.group)}
    titles = {job_type.key: job_type.title for job_type in book.job_types}
    open_to = None if is_manager(request.user) else (request.user.key,)
    return told_in_groups(answered.missing, names=names, titles=titles, open_to=open_to)


def _kit_by_kind(
    form: StartForm, name: str, kinds: tuple[str, ...], rows: list[KitRow], site: Workshop
) -> list[dict[str, Any]]:
    """The checkboxes of one pair of hands, kind by kind, each item with how it stands today."""
    ticked = set(form.data.getlist(name)) if form.is_bound else set()  # type: ignore[attr-defined]
    today, house = local_day(timezone.now(), site.zone), house_of(site)
    return [
        {
            "name": KINDS.get(kind, kind),
            "rows": [
                {"item": row.item, "standing": standing(row, site, today, house), "ticked": str(row.item.pk) in ticked}
                for row in rows
                if row.item.kind == kind
            ],
        }
        for kind in kinds
    ]


def _is_supervised(stored: dict[str, Any]) -> bool:
    return ((stored.get("lead") or {}).get("decision") or {}).get("mode") == "supervised"


def _local_words(local: Any, voice: Any) -> str:
    return f"{day_words(local.date(), voice)} {local:%H:%M}"

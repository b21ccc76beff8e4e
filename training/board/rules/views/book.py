"""The rule book of a workshop for everybody who reads it, and for the two people who change it."""

from __future__ import annotations

from typing import Any

import yaml
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from training.bank import actions
from training.bank.queries import newest_tasks
from training.bank.rule_books import book_in_force, read_book
from training.bank.rule_history import BookWritten, Rules, rules_of
from training.board.queries import read_workshop
from training.board.rules.difference import difference
from training.board.rules.forms import ReasonForm
from training.board.rules.preview import effects_of
from training.board.rules.reading import lines_of, may_confirm_now, may_see_proposals, shown, state_words
from training.board.voices import voice_of
from training.core.permission.reading import as_mapping
from training.core.permission.rule_book import RuleBook
from training.people.models import Person, Workshop
from training.people.queries import is_manager, people_of
from training.people.refusal import Refusal
from training.people.views.finding import workshop_of
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest


@require_safe
def rules(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """The rule book in force in plain sentences, for everybody of the group; what comes and what waits beside it."""
    site = workshop_of(request, workshop)
    now, standing = timezone.now(), rules_of(site)
    book = book_in_force(standing)
    voice, sees = voice_of(site, book, now=now), may_see_proposals(request.user, site)
    context = {
        "workshop": site,
        "sites": Workshop.objects.filter(group=request.user.group).order_by("name"),
        "book": book,
        "job_types": shown(book, site) if book else [],
        "in_force": [line for line in lines_of(standing, voice) if _is(line.record, standing.in_force)],
        "waiting": [
            line for line in lines_of(standing, voice) if line.waits and (sees or _comes(line.record, standing))
        ],
        "manager": is_manager(request.user),
        "sees": sees,
    }
    return render_page(request, page="board/rules.html", part="board/_rules.html", context=context)


@require_safe
def history(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """Every rule book that was ever written for a workshop, with who and when."""
    site = workshop_of(request, workshop)
    _see_proposals(request.user, site)
    standing = rules_of(site)
    voice = voice_of(site, None, now=timezone.now())
    context = {"workshop": site, "lines": lines_of(standing, voice)}
    return render_page(request, page="board/rules_history.html", part="board/_rules_history.html", context=context)


@never_cache
@require_safe
def rule_book(request: AuthenticatedRequest, workshop: str, record: int) -> HttpResponse:
    """One rule book: what differs from the one before it and, while it waits, who gains and who loses by it."""
    site = workshop_of(request, workshop)
    now, standing = timezone.now(), rules_of(site)
    one = _written(request.user, site, standing, record)
    book = read_book(one.text)
    voice = voice_of(site, book, now=now)
    waits, sees = one in (*standing.proposed, *standing.coming), may_see_proposals(request.user, site)
    context: dict[str, Any] = {
        "workshop": site,
        "line": next(line for line in lines_of(standing, voice) if line.record == record),
        "state": state_words(one, standing, voice.today),
        "book": book,
        "job_types": shown(book, site) if book else [],
        "differs": differs(before_of(standing, one), book, site) if book else [],
        "before": before_of(standing, one),
        "sees": sees,
        "confirm": may_confirm_now(request.user, site, one, standing, today=voice.today),
        "withdraw": ReasonForm() if one in standing.proposed and is_manager(request.user) else None,
    }
    if waits and sees and book:
        reading = read_workshop(site, read_at=now)
        people = list(people_of(site))
        context["effects"] = effects_of(reading, people, book, from_day=one.from_day, now=now)
    return render_page(request, page="board/rules_book.html", part="board/_rules_book.html", context=context)


@require_POST
def confirm(request: AuthenticatedRequest, workshop: str, record: int) -> HttpResponse:
    """A second person confirms a rule book; every clearance of the workshop is worked out anew."""
    site = workshop_of(request, workshop)
    try:
        actions.confirm_rule_book(workshop=site, proposal=record, by=request.user, at=timezone.now())
    except (Refusal, Refused) as refusal:
        raise BadPost(str(refusal)) from refusal
    standing = rules_of(site)
    in_force = standing.in_force is not None and standing.in_force.record == record
    messages.success(request, _("It is in force.") if in_force else _("Confirmed. It comes on its first day."))
    return redirect("board:rules", workshop=site.slug)


@require_POST
def withdraw(request: AuthenticatedRequest, workshop: str, record: int) -> HttpResponse:
    """A manager withdraws a proposal that nobody has confirmed."""
    site = workshop_of(request, workshop)
    reason = request.POST.get("reason", "")[:500]
    try:
        actions.withdraw_rule_book(workshop=site, proposal=record, reason=reason, by=request.user, at=timezone.now())
    except (Refusal, Refused) as refusal:
        raise BadPost(str(refusal)) from refusal
    messages.success(request, _("Withdrawn."))
    return redirect("board:rules", workshop=site.slug)


@require_safe
def as_file(request: AuthenticatedRequest, workshop: str, record: int) -> HttpResponse:
    """One rule book as a YAML file, to be read, changed and handed in again."""
    site = workshop_of(request, workshop)
    book = read_book(_written(request.user, site, rules_of(site), record).text)
    if book is None:
        raise Http404
    text = yaml.safe_dump(as_mapping(book), allow_unicode=True, sort_keys=False, width=120)
    answer = HttpResponse(text, content_type="application/yaml; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="rule-book-{site.slug}-{book.version}.yaml"'
    return answer


def differs(before: RuleBook | None, after: RuleBook, site: Workshop) -> list[Any]:
    """What differs between two rule books of a workshop, in words."""
    tasks = {ident: row.title for ident, row in newest_tasks(site.group_id).items()}
    return difference(before, after, tasks) if before else []


def before_of(standing: Rules, one: BookWritten) -> RuleBook | None:
    """What a rule book is compared with: the one in force, for one that was in force the one before it."""
    if one not in (standing.in_force, *standing.past):
        return book_in_force(standing)
    earlier = [book for book in standing.past if book.since and one.since and book.since < one.since]
    return read_book(earlier[-1].text) if earlier else None


def _written(viewer: Person, site: Workshop, standing: Rules, record: int) -> BookWritten:
    """A rule book by its record; what is proposed, and what is past, only for those who may see it."""
    for one in standing.everything():
        if one.record == record:
            settled = one == standing.in_force or one in standing.coming
            if settled or may_see_proposals(viewer, site):
                return one
    raise Http404


def _see_proposals(viewer: Person, site: Workshop) -> None:
    if not may_see_proposals(viewer, site):
        raise PermissionDenied(_("Only managers, auditors and whoever confirms rule books may see how they changed."))


def _is(record: int, one: BookWritten | None) -> bool:
    return one is not None and one.record == record


def _comes(record: int, standing: Rules) -> bool:
    return any(one.record == record for one in standing.coming)

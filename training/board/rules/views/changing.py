"""Changing a rule book: a draft goes from page to page, one job type at a time, until a manager proposes it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from training.bank.actions import LONGEST_AHEAD, propose_rule_book
from training.bank.rule_book_checks import LONGEST_TEXT, mapping_from, rule_book_for
from training.bank.rule_books import read_book, starting_book
from training.bank.rule_history import Rules, rules_of
from training.board.queries import read_workshop
from training.board.rules import drafts
from training.board.rules.forms import GeneralForm, JobTypeForm, Plain, ProposalForm, TextForm
from training.board.rules.preview import effects_of
from training.board.rules.views.book import differs
from training.board.rules.words import KINDS
from training.core.permission.reading import BadRuleBook, as_mapping, rule_book_from
from training.core.permission.rule_book import RuleBook
from training.core.trade.calendar import local_day
from training.people.models import Workshop
from training.people.queries import is_manager, people_of
from training.people.refusal import Refusal
from training.people.views.finding import workshop_of
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest

DO = "do"


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def change(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """Change a draft of the rule book; nothing is recorded here. ``do`` says which page or step comes next."""
    site = _managed(request, workshop)
    standing = rules_of(site)
    draft = _draft(request, site, standing)
    do, _colon, about = request.POST.get(DO, "").partition(":")
    steps = {"job": _job, "take": _job, "add": _job, "general": _general, "text": _text, "preview": _preview}
    step = steps.get(do, _overview)
    return step(request, site, draft, about)


@require_POST
def propose(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """Propose the draft: it waits for a second person, and changes nothing before."""
    site = _managed(request, workshop)
    draft, form = _draft(request, site, rules_of(site)), ProposalForm(request.POST)
    if not form.is_valid():
        return _overview(request, site, draft, "", proposal=form)
    try:
        record = propose_rule_book(workshop=site, book=draft, by=request.user, at=timezone.now(), **form.cleaned_data)
    except (Refusal, Refused, BadRuleBook) as refusal:
        return _refused(request, site, draft, form, refusal)
    messages.success(request, _("Proposed. A second person confirms it: pass this page on."))
    return redirect("board:rule_book", workshop=site.slug, record=record.number)


def _managed(request: AuthenticatedRequest, slug: str) -> Workshop:
    if not is_manager(request.user):
        raise PermissionDenied(_("Only a manager changes a rule book."))
    return workshop_of(request, slug)


def _draft(request: AuthenticatedRequest, site: Workshop, standing: Rules) -> Plain:
    """The draft that the page carried; at first the newest book that is settled, else the regime's starting one."""
    if "draft" in request.POST:
        try:
            return drafts.draft_of(request.POST["draft"])
        except BadRuleBook as fault:
            raise BadPost(_("The draft could not be read. Open the page anew.")) from fault
    book = newest_settled(standing)
    return as_mapping(book or rule_book_from(starting_book(site.regime)))


def newest_settled(standing: Rules) -> RuleBook | None:
    """What a change starts from: the highest version among the books that come and the one in force."""
    settled = [*standing.coming, *((standing.in_force,) if standing.in_force else ())]
    newest = max(settled, key=lambda one: one.version, default=None)
    return read_book(newest.text) if newest else None


def _overview(
    request: AuthenticatedRequest,
    site: Workshop,
    draft: Plain,
    _about: str,
    *,
    text: TextForm | None = None,
    proposal: ProposalForm | None = None,
    faults: Sequence[str] = (),
) -> HttpResponse:
    """What is changed so far, and where to go on from here."""
    before = newest_settled(rules_of(site))
    today = local_day(timezone.now(), site.zone)
    context = {
        "differs": differs(before, rule_book_from(draft), site),
        "job_types": draft["job_types"],
        "text": text or TextForm(),
        "proposal": proposal or ProposalForm(initial={"from_day": today, **_kept(request)}),
        "faults": faults,
    }
    return _page(request, site, draft, "rules_change", context, wrong=bool(faults) or _has_errors(text, proposal))


def _job(request: AuthenticatedRequest, site: Workshop, draft: Plain, about: str) -> HttpResponse:
    """A job type with its requirements: opened, taken over, or with one requirement more."""
    key = request.POST.get("job_type", about)
    posted = request.POST if request.POST[DO].partition(":")[0] != "job" else None
    try:
        job_type = drafts.job_type_in(draft, key)
    except KeyError as unknown:
        raise BadPost(_("There is no such job type in this draft.")) from unknown
    own = JobTypeForm(posted, initial=JobTypeForm.shown(job_type))
    parts = drafts.parts_of(draft, key, posted)
    if posted is None:
        return _job_page(request, site, draft, key, own, parts)
    if not all([own.is_valid(), *(part.form.is_valid() for part in parts)]):
        return _job_page(request, site, draft, key, own, parts, wrong=True)
    try:
        changed = drafts.with_job_type(draft, key, own, parts, site)
        if request.POST[DO] == "add":
            changed = drafts.with_new(changed, key, request.POST.get("kind", ""), site)
    except BadRuleBook as fault:
        return _job_page(request, site, draft, key, own, parts, faults=fault.faults)
    except KeyError as unknown:
        raise BadPost(_("There is no such kind of requirement.")) from unknown
    if request.POST[DO] == "add":
        opened = JobTypeForm(initial=JobTypeForm.shown(drafts.job_type_in(changed, key)))
        return _job_page(request, site, changed, key, opened, drafts.parts_of(changed, key), added=True)
    return _overview(request, site, changed, "")


def _job_page(
    request: AuthenticatedRequest,
    site: Workshop,
    draft: Plain,
    key: str,
    own: JobTypeForm,
    parts: Sequence[drafts.Part],
    *,
    faults: Sequence[str] = (),
    wrong: bool = False,
    added: bool = False,
) -> HttpResponse:
    context = {"key": key, "own": own, "parts": parts, "kinds": KINDS.items(), "faults": faults, "added": added}
    return _page(request, site, draft, "rules_job_type", context, wrong=wrong or bool(faults))


def _general(request: AuthenticatedRequest, site: Workshop, draft: Plain, about: str) -> HttpResponse:
    """The general part: opened, or taken over."""
    form = GeneralForm(request.POST if about == "take" else None, initial=GeneralForm.shown(draft))
    faults: Sequence[str] = ()
    if form.is_bound and form.is_valid():
        try:
            return _overview(request, site, drafts.with_general(draft, form), "")
        except BadRuleBook as fault:
            faults = fault.faults
    context = {"form": form, "faults": faults}
    return _page(request, site, draft, "rules_general", context, wrong=form.is_bound)


def _text(request: AuthenticatedRequest, site: Workshop, draft: Plain, _about: str) -> HttpResponse:
    """A whole rule book, pasted or handed in as a file, takes the draft's place, or every fault of it is told."""
    form = TextForm(request.POST, request.FILES)
    if not form.is_valid():
        return _overview(request, site, draft, "", text=form)
    try:
        text = _given(form)
        wanted = as_mapping(rule_book_for(site, mapping_from(text)))
    except (BadRuleBook, UnicodeDecodeError) as fault:
        faults = fault.faults if isinstance(fault, BadRuleBook) else (_("The file is not text in UTF-8."),)
        return _overview(request, site, draft, "", text=form, faults=faults)
    return _overview(request, site, wanted, "")


def _given(form: TextForm) -> str:
    """The file where there is one, else what was pasted."""
    file = form.cleaned_data["file"]
    if file is None:
        return str(form.cleaned_data["text"])
    if file.size > LONGEST_TEXT:
        raise BadRuleBook((_("rule book: longer than %(n)d letters") % {"n": LONGEST_TEXT},))
    return str(file.read().decode("utf-8"))


def _preview(request: AuthenticatedRequest, site: Workshop, draft: Plain, _about: str) -> HttpResponse:
    """Who would gain and who would lose, before it is proposed."""
    form, now = ProposalForm(request.POST), timezone.now()
    if not form.is_valid():
        return _overview(request, site, draft, "", proposal=form)
    from_day, today = form.cleaned_data["from_day"], local_day(now, site.zone)
    if not today <= from_day <= today + LONGEST_AHEAD:
        form.add_error("from_day", _("Give a day from today on, at most two years ahead."))
        return _overview(request, site, draft, "", proposal=form)
    try:
        book = rule_book_for(site, draft)
    except BadRuleBook as fault:
        return _overview(request, site, draft, "", proposal=form, faults=fault.faults)
    reading = read_workshop(site, read_at=now)
    context = {
        "differs": differs(newest_settled(rules_of(site)), book, site),
        "effects": effects_of(reading, list(people_of(site)), book, from_day=from_day, now=now),
        "from_day": from_day,
        "reason": form.cleaned_data["reason"],
    }
    return _page(request, site, draft, "rules_preview", context)


def _refused(
    request: AuthenticatedRequest, site: Workshop, draft: Plain, form: ProposalForm, refusal: Exception
) -> HttpResponse:
    """Back to the overview with what was refused beside its field, or above all."""
    if isinstance(refusal, BadRuleBook):
        return _overview(request, site, draft, "", proposal=form, faults=refusal.faults)
    field = getattr(refusal, "field", "")
    form.add_error(field if field in form.fields else None, str(refusal))
    return _overview(request, site, draft, "", proposal=form)


def _kept(request: AuthenticatedRequest) -> dict[str, str]:
    """First day and reason as they were already written, so that going back loses nothing."""
    return {name: request.POST[name] for name in ("from_day", "reason") if request.POST.get(name)}


def _has_errors(*forms_given: forms.Form | None) -> bool:
    return any(form is not None and form.is_bound and bool(form.errors) for form in forms_given)


def _page(
    request: AuthenticatedRequest,
    site: Workshop,
    draft: Plain,
    name: str,
    context: dict[str, Any],
    *,
    wrong: bool = False,
) -> HttpResponse:
    more = {"workshop": site, "draft": drafts.as_text(draft), "carried": _kept(request), **context}
    status = 400 if wrong else 200
    return render_page(request, page=f"board/{name}.html", part=f"board/_{name}.html", context=more, status=status)

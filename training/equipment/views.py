"""The pages of the kit register: all kit of a workshop, one item, a new item, and what is entered about it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from training.bank.rule_books import house_of
from training.core.trade.calendar import local_day
from training.core.trade.fitness import House
from training.equipment import actions, words
from training.equipment.forms import AddForm, read_day, read_numbers, read_yes_no
from training.equipment.label_parts import TESTS, BadLabel
from training.equipment.models import KitItem
from training.equipment.queries import KitRow, kit_of, rows_of
from training.people.models import Person, Workshop
from training.people.queries import is_manager
from training.people.refusal import Refusal
from training.people.views.finding import workshop_of
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest


@require_safe
def register(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """All kit of a workshop by kind: what its label says, until when it is in date, and what is against it."""
    site = workshop_of(request, workshop)
    today = local_day(timezone.now(), site.zone)
    house = house_of(site)
    rows = [_line(row, site, request.user, house) for row in kit_of(site)]
    kinds = [
        {"name": name, "rows": [r for r in rows if r["row"].item.kind == kind and not r["retired"]]}
        for kind, name in words.KINDS.items()
    ]
    context = {
        "workshop": site,
        "sites": Workshop.objects.filter(group=request.user.group).order_by("name"),
        "kinds": [kind for kind in kinds if kind["rows"]],
        "retired": [row for row in rows if row["retired"]],
        "manager": is_manager(request.user),
        "today": words.day_words(today),
    }
    return render_page(request, page="equipment/register.html", part="equipment/_register.html", context=context)


@require_safe
def entry(request: AuthenticatedRequest, workshop: str, kit_id: int) -> HttpResponse:
    """One item: how it stands, what can be entered, and everything on record of it."""
    site = workshop_of(request, workshop)
    item = _item(site, kit_id)
    row = rows_of([item], chain_id=site.group.chain_id)[0]
    names = {p.key: p.short_name for p in Person.objects.filter(group_id=site.group_id)}
    lines = [
        {"line": line, "by": names.get(line.by, "?"), "on": words.day_words(line.on)}
        for line in words.history_lines(row)
    ]
    context = {
        "workshop": site,
        **_line(row, site, request.user, house_of(site)),
        "kind": words.KINDS.get(item.kind, item.kind),
        "test": _(TESTS.get(item.kind, "")),
        "issued": bool(row.history.issues),
        "lines": lines,
        "manager": is_manager(request.user),
        "iso_today": local_day(timezone.now(), site.zone).isoformat(),
    }
    return render_page(request, page="equipment/entry.html", part="equipment/_entry.html", context=context)


@require_http_methods(["GET", "HEAD", "POST"])
def add(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """First the kind, then what the label of that kind says; managers only."""
    site = workshop_of(request, workshop)
    if not is_manager(request.user):
        raise PermissionDenied(_("A manager puts kit on the register. Tell yours what is missing."))
    kind = request.GET.get("kind", "") if request.method != "POST" else request.POST.get("kind", "")
    if kind and kind not in TESTS:
        raise BadPost(_("There is no kit of this kind. Choose one from the list."))
    form = AddForm(request.POST if request.method == "POST" else None, kind=kind) if kind else None
    if form is not None and form.is_valid() and (item := _added(request, site, kind, form)):
        messages.success(request, _("Put on the register. Enter its test next: until then it is not fit."))
        return redirect("equipment:entry", workshop=site.slug, kit_id=item.pk)
    if request.method == "POST" and form is None:
        raise BadPost(_("Choose what kind of kit it is. Nothing was recorded."))
    context = {
        "workshop": site,
        "kinds": words.KINDS,
        "kind": kind,
        "kind_name": words.KINDS.get(kind, ""),
        "form": form,
    }
    status = 400 if form is not None and form.is_bound else 200
    return render_page(request, page="equipment/add.html", part="equipment/_add.html", context=context, status=status)


@require_POST
def check_several(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """Today's pre-use check, passed, of every item ticked, by whoever is signed in; all or none is recorded."""
    site = workshop_of(request, workshop)
    wanted = read_numbers(request.POST, "kit")
    items = list(KitItem.objects.filter(workshop=site, pk__in=wanted).select_related("workshop__group"))
    if len(items) != len(wanted):
        raise BadPost(_("One of these is not on this register. Nothing was recorded."))
    _entered(lambda: actions.pre_use_checks(items=items, by=request.user, at=timezone.now()))
    messages.success(
        request, _("Recorded: checked by you today: %(kit)s.") % {"kit": ", ".join(i.ident for i in items)}
    )
    return redirect("equipment:register", workshop=site.slug)


@require_POST
def check(request: AuthenticatedRequest, workshop: str, kit_id: int) -> HttpResponse:
    """Today's pre-use check of one item by whoever is signed in."""
    item = _item(workshop_of(request, workshop), kit_id)
    passed = read_yes_no(request.POST, "passed")
    _entered(lambda: actions.pre_use_check(item=item, passed=passed, by=request.user, at=timezone.now()))
    said = _("Pre-use check recorded.") if passed else _("Recorded: not good. It is out until it passes its test.")
    return _done(request, item, said)


@require_POST
def note(request: AuthenticatedRequest, workshop: str, kit_id: int) -> HttpResponse:
    """Something seen that makes the item suspect."""
    item = _item(workshop_of(request, workshop), kit_id)
    noted_on, what = read_day(request.POST, "noted_on"), request.POST.get("what", "")
    _entered(
        lambda: actions.note_something(item=item, what=what, noted_on=noted_on, by=request.user, at=timezone.now())
    )
    return _done(request, item, _("Noted. It is out until it passes its test on a later day."))


@require_POST
def test(request: AuthenticatedRequest, workshop: str, kit_id: int) -> HttpResponse:
    """The test of its kind, with its result."""
    item = _item(workshop_of(request, workshop), kit_id)
    tested_on, passed = read_day(request.POST, "tested_on"), read_yes_no(request.POST, "passed")
    _entered(
        lambda: actions.record_test(item=item, tested_on=tested_on, passed=passed, by=request.user, at=timezone.now())
    )
    return _done(request, item, _("Test recorded."))


@require_POST
def issue(request: AuthenticatedRequest, workshop: str, kit_id: int) -> HttpResponse:
    """The first issue for service."""
    item = _item(workshop_of(request, workshop), kit_id)
    issued_on = read_day(request.POST, "issued_on")
    _entered(lambda: actions.issue(item=item, issued_on=issued_on, by=request.user, at=timezone.now()))
    return _done(request, item, _("Issue recorded."))


@require_POST
def retire(request: AuthenticatedRequest, workshop: str, kit_id: int) -> HttpResponse:
    """Out of service for good."""
    item = _item(workshop_of(request, workshop), kit_id)
    why = request.POST.get("why", "")
    _entered(lambda: actions.retire(item=item, why=why, by=request.user, at=timezone.now()))
    return _done(request, item, _("Out of service for good."))


def _added(request: AuthenticatedRequest, site: Workshop, kind: str, form: AddForm) -> KitItem | None:
    said = form.cleaned_data
    try:
        return actions.add_item(
            workshop=site,
            kind=kind,
            ident=said["ident"],
            title=said["title"],
            label=form.label_read(),
            by=request.user,
            at=timezone.now(),
        )
    except BadLabel as bad:
        form.tell(bad.faults)
    except Refusal as refusal:
        form.tell({refusal.field: refusal.sentence})
    except Refused as refused:
        raise BadPost(str(refused)) from refused
    return None


def _entered(act: Callable[[], object]) -> None:
    try:
        act()
    except (Refusal, Refused) as refusal:
        raise BadPost(str(refusal)) from refusal


def _done(request: AuthenticatedRequest, item: KitItem, said: str) -> HttpResponse:
    messages.success(request, said)
    return redirect("equipment:entry", workshop=item.workshop.slug, kit_id=item.pk)


def _item(site: Workshop, kit_id: int) -> KitItem:
    return get_object_or_404(KitItem.objects.select_related("workshop__group"), pk=kit_id, workshop=site)


def _line(row: KitRow, site: Workshop, person: Person, house: House) -> dict[str, Any]:
    today = local_day(timezone.now(), site.zone)
    check = row.check_for(person.key, today)
    mine = check is not None and check.on == today and check.wearer == person.key and check.passed
    return {
        "row": row,
        "item": row.item,
        "label": words.label_words(row),
        "standing": words.standing(row, site, today, house),
        "retired": row.retired is not None or row.item.retired_on is not None,
        "checked_by_me": mine,
    }

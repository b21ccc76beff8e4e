"""After a request that wrote records: work out again, at once, the clearances of the people whom it named."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Callable

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils import timezone

from training.board.actions import work_out
from training.people.models import Person
from training.records import written

logger = logging.getLogger(__name__)


class RecomputeWritten:
    """The mark has cut the old clearance already; this only makes the new one come sooner than the worker would."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        written.take()
        response = self.get_response(request)
        keys = {key for _, key in written.take()}
        if keys:
            self._work_out(keys)
        return response

    def _work_out(self, keys: set[str]) -> None:
        by_workshop = defaultdict(list)
        for person in Person.objects.filter(key__in=keys, is_active=True).select_related("workshop__group"):
            by_workshop[person.workshop].append(person)
        for workshop, people in by_workshop.items():
            try:
                work_out(workshop=workshop, people=people, at=timezone.now())
            except Exception:  # the write stands; the cell says "being worked out" until the worker comes
                logger.exception("Clearances of %s could not be worked out", workshop.slug)

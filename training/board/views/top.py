"""What every page needs to know of running jobs: where one has to stop, it says so at the top."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.utils import timezone
from django.utils.functional import SimpleLazyObject

from training.board.work.stopped import stops_for
from training.people.models import Person


def stops(request: HttpRequest) -> dict[str, Any]:
    """The running jobs of whoever is signed in, looked up once, and only by a page that shows them."""
    person = request.user
    if not isinstance(person, Person):
        return {}
    return {"stops": SimpleLazyObject(lambda: stops_for(person, at=timezone.now()))}

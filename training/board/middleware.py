"""After a request that wrote records: work out again, at once, the clearances of the people whom it named."""

from __future__ import annotations

import logging
from collections.abc import Callable

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils import timezone

from training.board.actions import work_out_named
from training.records import written

logger = logging.getLogger(__name__)


class RecomputeWritten:
    """The mark has cut the old clearance already; this only makes the new one come sooner than the worker would.

    What was noted and then rolled back does no harm: only clearances that are no longer believed are worked out.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        written.take()
        response = self.get_response(request)
        keys = {key for _chain, key in written.take()}
        if keys:
            _work_out(keys)
        return response


def _work_out(keys: set[str]) -> None:
    try:
        work_out_named(keys=keys, at=timezone.now())
    except Exception:  # the answer to the write is true without it
        logger.exception("Clearances could not be worked out after a write")

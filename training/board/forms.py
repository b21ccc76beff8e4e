"""Reading what was posted to the board's own pages."""

from __future__ import annotations

from django.http import QueryDict
from django.utils.translation import gettext as _

from training.web.errors import BadPost

LONGEST_NOTE = 2000


def read_note(post: QueryDict) -> str:
    """The mentor's sentence on a talk-through. Raises ``BadPost`` when it is missing or too long."""
    note = str(post.get("note", "")).strip()
    if not note:
        raise BadPost(_("Write a sentence on what you talked about."))
    if len(note) > LONGEST_NOTE:
        raise BadPost(_("The note is longer than %(most)d characters. Shorten it.") % {"most": LONGEST_NOTE})
    return note

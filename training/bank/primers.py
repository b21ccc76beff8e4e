"""The nine primers, one page a topic: their addresses, and which template shows which."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from training.core.questions.kinds import Topic


def slug_of(topic: str) -> str:
    """A topic as it stands in an address: ``meters and proving`` is ``meters-and-proving``, ``PPE`` is ``ppe``."""
    return topic.lower().replace(" ", "-")


PRIMERS: Final[Mapping[str, Topic]] = MappingProxyType({slug_of(topic): topic for topic in Topic})


def template_of(slug: str) -> str:
    """The template of a primer; KeyError for an address that has none."""
    return f"bank/primers/{slug_of(PRIMERS[slug])}.html"

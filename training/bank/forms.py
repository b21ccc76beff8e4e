"""Which versions a checker accepts: one by one or a whole topic."""

from __future__ import annotations

from collections.abc import Sequence

from django.http import QueryDict
from django.utils.translation import gettext as _

from training.bank.models import QuestionVersion
from training.core.questions.kinds import Topic
from training.web.errors import BadPost


def chosen_versions(post: QueryDict, waiting: Sequence[QuestionVersion]) -> list[QuestionVersion]:
    """The waiting versions that were ticked, or all of the topic whose button was pressed.

    Raises ``BadPost`` for a topic that does not exist, a version that is not waiting, or nothing chosen.
    """
    topic = post.get("topic", "")
    if topic:
        if topic not in set(Topic):
            raise BadPost(_("There is no such topic. Go back and choose one from the list."))
        return [version for version in waiting if version.topic == topic]
    by_id = {str(version.pk): version for version in waiting}
    ticked = post.getlist("version")
    if not ticked or not set(ticked) <= set(by_id):
        raise BadPost(_("Tick at least one of the questions shown, then accept."))
    return [by_id[value] for value in ticked]

"""A rule book in plain words: each requirement's figures, a sentence made of them, and what a start of work asks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from training.core.permission.rule_book import (
    AppointedFor,
    AtStart,
    CertificateOf,
    HoldsJobType,
    InstructedWithin,
    JobType,
    RecallOf,
    Requirement,
    RuleBook,
    SignOffOf,
    YoungPerson,
)

KINDS: Mapping[str, str | Promise] = {
    "recall": gettext_lazy("Recall of topics"),
    "sign_off": gettext_lazy("Sign-off of a practical task"),
    "certificate": gettext_lazy("Outside certificate"),
    "appointed": gettext_lazy("Appointment by a manager"),
    "instructed": gettext_lazy("Instruction"),
    "holds": gettext_lazy("Another job type"),
}
YOUNG: Mapping[YoungPerson, str | Promise] = {
    YoungPerson.ALONE: gettext_lazy("Under 18: like everybody else."),
    YoungPerson.SUPERVISED: gettext_lazy("Under 18: only under supervision."),
    YoungPerson.NO: gettext_lazy("Under 18: not at all."),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Titles:
    """Titles of practical tasks by id, and of job types by key."""

    tasks: Mapping[str, str] = field(default_factory=dict)
    job_types: Mapping[str, str] = field(default_factory=dict)

    def task(self, ident: str) -> str:
        """A task as people say it, its id first."""
        return f"{ident} {self.tasks[ident]}" if ident in self.tasks else ident

    def job_type(self, key: str) -> str:
        """A job type as people say it, its key first."""
        title = self.job_types.get(key, key)
        return title if title.casefold() == key.casefold() else f"{key}: {title}"


def titles_for(book: RuleBook, tasks: Mapping[str, str]) -> Titles:
    """What is needed to name tasks and job types of a rule book."""
    return Titles(tasks=tasks, job_types={one.key: one.title for one in book.job_types})


def in_100(share: float) -> str:
    """A floor or share as so many in 100."""
    return f"{round(share * 100, 1):g}"


def subject_of(requirement: Requirement, titles: Titles) -> str:
    """What a requirement is about: its task, certificate, job type or topics; "" where that goes without saying."""
    match requirement:
        case SignOffOf():
            return titles.task(requirement.task)
        case CertificateOf():
            return _(requirement.kind)
        case HoldsJobType():
            return titles.job_type(requirement.job_type)
        case RecallOf():
            return ", ".join(_(topic.value) for topic in requirement.topics)
    return ""


def figures_of(requirement: Requirement) -> dict[str, str]:
    """The figures of a requirement by their names, in words; what is not asked is left out."""
    return {name: said for name, said in _FIGURES[type(requirement)](requirement) if said}


def sentence_of(requirement: Requirement, titles: Titles) -> str:
    """A requirement in one sentence, made of its figures only."""
    subject, figures = subject_of(requirement, titles), "; ".join(figures_of(requirement).values())
    opening = _OPENINGS[type(requirement)]() % {"subject": subject}
    return f"{opening}: {figures}." if figures else f"{opening}."


def start_words(at_start: AtStart) -> list[str]:
    """What a start of work asks for besides the clearances."""
    second = _SECOND[at_start.second_person]
    asked = [
        str(second) if second else "",
        _("the maker's procedure for this vehicle") if at_start.maker_procedure else "",
        _("a live-work order") if at_start.live_work_order else "",
        _("the cordon") if at_start.cordon else "",
        _("fit kit: %(kinds)s") % {"kinds": ", ".join(_(kind) for kind in at_start.kit_kinds)}
        if at_start.kit_kinds
        else "",
    ]
    return [words for words in asked if words]


def law_words(requirement: Requirement) -> str:
    """What law asks here, or that it asks nothing by name and this is the workshop's own rule."""
    if requirement.law:
        return _("Law asks: %(law)s") % {"law": requirement.law}
    return _("Law asks nothing here by name: our default.")


def young_words(job_type: JobType) -> str:
    """What somebody under 18 may get at most."""
    return str(YOUNG[job_type.young_person])


def months_words(count: int) -> str:
    """A number of months."""
    return ngettext("%(n)d month", "%(n)d months", count) % {"n": count}


def days_words(count: int) -> str:
    """A number of days."""
    return ngettext("%(n)d day", "%(n)d days", count) % {"n": count}


Named = Iterator[tuple[str, str]]


def _recall(asked: RecallOf) -> Named:
    yield "life_floor", _("each life question at least %(n)s in 100") % {"n": in_100(asked.life_floor)}
    mean = asked.topic_mean_floor
    yield "topic_mean_floor", "" if mean is None else _("each topic on average %(n)s in 100") % {"n": in_100(mean)}
    yield "most_a_topic", _most(asked.most_a_topic, _("at most %(n)d life questions and as many others of each topic"))
    yield "most_life_questions", _most(asked.most_life_questions, _("at most %(n)d life questions in all"))


def _sign_off(asked: SignOffOf) -> Named:
    count = ngettext("%(n)d passed observation", "%(n)d passed observations", asked.observations)
    yield "observations", count % {"n": asked.observations}
    yield "mentors", ngettext("by %(n)d mentor", "by %(n)d mentors", asked.mentors) % {"n": asked.mentors}
    yield "days", ngettext("on %(n)d day", "on %(n)d days", asked.days) % {"n": asked.days}
    yield "valid_months", _("none older than %(months)s") % {"months": months_words(asked.valid_months)}
    within = asked.done_within_days
    yield "done_within_days", "" if within is None else _("last done within %(days)s") % {"days": days_words(within)}
    beside = ngettext(
        "%(n)d before that with the mentor beside", "%(n)d before them with the mentor beside", asked.beside_first
    )
    yield "beside_first", beside % {"n": asked.beside_first} if asked.beside_first else ""


def _certificate(asked: CertificateOf) -> Named:
    yield "valid_months", _("at most %(months)s from issue") % {"months": months_words(asked.valid_months)}
    verify = asked.verify_months
    yield (
        "verify_months",
        "" if verify is None else _("checked with its issuer every %(months)s") % {"months": months_words(verify)},
    )


def _appointed(asked: AppointedFor) -> Named:
    yield "valid_months", _("at most %(months)s from its first day") % {"months": months_words(asked.valid_months)}


def _instructed(asked: InstructedWithin) -> Named:
    yield "months", _("within %(months)s") % {"months": months_words(asked.months)}
    yield "months_under_18", _("under 18 within %(months)s") % {"months": months_words(asked.months_under_18)}


def _holds(_asked: HoldsJobType) -> Named:
    return iter(())


def _most(number: int | None, words: str) -> str:
    return "" if number is None else words % {"n": number}


_FIGURES: Mapping[type[Requirement], Callable[..., Named]] = {
    RecallOf: _recall,
    SignOffOf: _sign_off,
    CertificateOf: _certificate,
    AppointedFor: _appointed,
    InstructedWithin: _instructed,
    HoldsJobType: _holds,
}
_OPENINGS: Mapping[type[Requirement], Callable[[], str]] = {
    RecallOf: lambda: _("Knows %(subject)s"),
    SignOffOf: lambda: _("Seen at %(subject)s"),
    CertificateOf: lambda: _("Has the outside certificate %(subject)s"),
    AppointedFor: lambda: _("Appointed in writing by a manager"),
    InstructedWithin: lambda: _("Instructed at this workshop"),
    HoldsJobType: lambda: _("Holds job type %(subject)s"),
}
_SECOND: Mapping[str, str | Promise] = {
    "": "",
    "until proved dead": gettext_lazy("a second person until proved dead"),
    "whole job": gettext_lazy("a second person for the whole job"),
    "in sight, nothing else": gettext_lazy("a second person in sight with nothing else to do"),
}

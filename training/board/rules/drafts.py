"""A rule book being changed: carried from page to page as text, written down only when it is proposed."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.http import QueryDict

from training.bank.queries import newest_tasks
from training.bank.rule_book_checks import mapping_from
from training.board.rules.forms import FORMS, OUT, GeneralForm, JobTypeForm, Plain, RequirementForm
from training.board.rules.words import KINDS, Titles, sentence_of, titles_for
from training.core.permission.fields import Faults, Fields
from training.core.permission.reading import as_mapping, rule_book_from
from training.core.permission.requirement_fields import SAID, read_requirement
from training.core.permission.rule_book import holds_of
from training.people.models import Workshop

SOURCE = "common practice, no source"
NEW: Mapping[str, Any] = {
    "recall": {
        "topics": ["rescue"], "life_floor": 0.6, "topic_mean_floor": 0.4, "most_a_topic": 3,
        "most_life_questions": None,
    },
    "sign_off": {
        "task": "T1", "observations": 1, "mentors": 1, "days": 1, "valid_months": 12, "done_within_days": None,
        "beside_first": 0,
    },
    "certificate": {"kind": "first aid and CPR", "valid_months": 24, "verify_months": None},
    "appointed": {"valid_months": 12},
    "instructed": {"months": 12, "months_under_18": 6},
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Part:
    """One requirement on the page of its job type: its number, its kind, how it reads now, and its form."""

    number: int
    kind: Any
    sentence: str
    form: RequirementForm


def draft_of(text: str) -> Plain:
    """The draft that a page carried. Raises ``BadRuleBook`` where it is not one any more."""
    return as_mapping(rule_book_from(mapping_from(text)))


def as_text(draft: Mapping[str, Any]) -> str:
    """The draft as a page carries it."""
    return json.dumps(draft, ensure_ascii=False, sort_keys=True)


def job_type_in(draft: Mapping[str, Any], key: str) -> Plain:
    """A job type of a draft; ``KeyError`` where there is none of this key."""
    for job_type in draft["job_types"]:
        if job_type["key"] == key:
            return dict(job_type)
    raise KeyError(key)


def parts_of(draft: Mapping[str, Any], key: str, posted: QueryDict | None = None) -> list[Part]:
    """The requirements of a job type, each with its form, bound where it was posted."""
    parts = []
    for number, plain in enumerate(job_type_in(draft, key)["requirements"], 1):
        kind = kind_of(plain)
        form = FORMS[kind](posted, prefix=str(number), initial=FORMS[kind].shown(plain))
        parts.append(Part(number=number, kind=KINDS[kind], sentence=plain["sentence"], form=form))
    return parts


def kind_of(requirement: Mapping[str, Any]) -> str:
    """What a requirement asks for, by its name in the file."""
    return next(name for name in requirement if name not in SAID)


def with_general(draft: Mapping[str, Any], form: GeneralForm) -> Plain:
    """The draft with another general part. Raises ``BadRuleBook``."""
    return _checked({**draft, **form.taken()})


def with_job_type(
    draft: Mapping[str, Any], key: str, form: JobTypeForm, parts: Sequence[Part], workshop: Workshop
) -> Plain:
    """The draft with a job type as its forms say. Raises ``BadRuleBook`` with every fault and its place."""
    titles, before = _titles(draft, workshop), job_type_in(draft, key)
    kept = [
        _resaid(old, part.form.taken(), titles)
        for old, part in zip(before["requirements"], parts, strict=True)
        if not part.form.cleaned_data[OUT]
    ]
    return _checked(_with(draft, {**before, **form.taken(), "requirements": kept}))


def with_new(draft: Mapping[str, Any], key: str, kind: str, workshop: Workshop) -> Plain:
    """The draft with one requirement more on a job type; ``KeyError`` for a kind that there is not."""
    before = job_type_in(draft, key)
    asks = _first_to_hold(draft, key) if kind == "holds" else NEW[kind]
    plain = {kind: asks, "sentence": "", "source": SOURCE, "law": ""}
    plain["sentence"] = _sentence(plain, _titles(draft, workshop))
    return _checked(_with(draft, {**before, "requirements": [*before["requirements"], plain]}))


def _first_to_hold(draft: Mapping[str, Any], key: str) -> str:
    """A job type that may have to be held: the first that does not itself ask for this one."""
    book = rule_book_from(draft)
    fit = [one.key for one in book.job_types if key not in {one.key, *(held.key for held in holds_of(book, one))}]
    return next(iter(fit), key)


def _checked(draft: Plain) -> Plain:
    return as_mapping(rule_book_from(draft))


def _with(draft: Mapping[str, Any], job_type: Plain) -> Plain:
    types = [job_type if one["key"] == job_type["key"] else one for one in draft["job_types"]]
    return {**draft, "job_types": types}


def _resaid(old: Plain, new: Plain, titles: Titles) -> Plain:
    """A sentence that was left as it was, or left empty, is written from the figures where they are other ones."""
    asks = kind_of(new)
    same_words = new["sentence"].split() in ([], old["sentence"].split())
    if not same_words or (new["sentence"] and new[asks] == old[asks]):
        return new
    return {**new, "sentence": _sentence(new, titles)}


def _sentence(plain: Plain, titles: Titles) -> str:
    """The sentence that the figures make; as it stands where they make none, which the reading then refuses."""
    faults = Faults()
    requirement = read_requirement(Fields({**plain, "sentence": "-"}, "requirement", faults))
    if requirement is None or faults.found:
        return str(plain["sentence"])
    return sentence_of(requirement, titles)


def _titles(draft: Mapping[str, Any], workshop: Workshop) -> Titles:
    tasks = {ident: row.title for ident, row in newest_tasks(workshop.group_id).items()}
    return titles_for(rule_book_from(draft), tasks)

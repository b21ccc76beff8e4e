"""A rule book from plain fields and back: strict, and every fault at once, so that nothing half-read is in force."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from training.core.permission.fields import Faults, Fields
from training.core.permission.requirement_fields import read_requirement, requirement_mapping
from training.core.permission.rule_book import AtStart, HoldsJobType, JobType, RuleBook, YoungPerson, holds_of
from training.core.questions.kinds import Regime
from training.core.trade.fitness import House
from training.core.trade.gloves import CLASSES, DueRule

GLOVE_DUE_RULES = get_args(DueRule)
SECOND_PERSON = ("", "until proved dead", "whole job", "in sight, nothing else")


class BadRuleBook(ValueError):
    """A rule book that cannot be used; ``faults`` lists everything that is wrong with it, each with its place."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        super().__init__("; ".join(faults))
        self.faults = faults


def rule_book_from(plain: Mapping[str, Any]) -> RuleBook:
    """Read a rule book; BadRuleBook names all its faults at once."""
    faults = Faults()
    book = _book(Fields(plain, "rule book", faults))
    if not faults.found:
        _check_whole(book, faults)
    if faults.found:
        raise BadRuleBook(tuple(faults.found))
    return book


def as_mapping(rule_book: RuleBook) -> dict[str, Any]:
    """The plain fields that ``rule_book_from`` reads back to an equal rule book."""
    return {
        "version": rule_book.version,
        "regime": rule_book.regime,
        "title": rule_book.title,
        "note": rule_book.note,
        "in_use_days": rule_book.in_use_days,
        "share_of_others_answered": rule_book.share_of_others_answered,
        "bootstrap_months": rule_book.bootstrap_months,
        "house": _house_mapping(rule_book.house),
        "job_types": [_job_type_mapping(job_type) for job_type in rule_book.job_types],
    }


def _book(fields: Fields) -> RuleBook:
    book = RuleBook(
        version=fields.whole("version", least=1),
        regime=fields.one_of("regime", [r.value for r in Regime if r is not Regime.ALL]),
        title=fields.text("title"),
        note=fields.text("note", empty=True),
        in_use_days=fields.whole("in_use_days", least=0, default=28),
        share_of_others_answered=fields.share("share_of_others_answered", default=0.8),
        bootstrap_months=fields.whole("bootstrap_months", least=0, default=12),
        house=_house(fields.under("house")) if fields.has("house") else House(),
        job_types=tuple(_job_type(each) for each in fields.each("job_types")),
    )
    fields.nothing_else()
    return book


def _house(fields: Fields) -> House:
    """What regimes and houses settle differently about kit; where left out, the strict defaults of ``House`` stand."""
    house = House(
        glove_due_rule=fields.one_of("glove_due_rule", GLOVE_DUE_RULES),  # type: ignore[arg-type]
        glove_floor=fields.one_of("glove_floor", CLASSES),  # type: ignore[arg-type]
        cuff_gap_mm=fields.whole_or_none("cuff_gap_mm", least=1),
        calibration_months=fields.whole("calibration_months", least=1),
        lift_months=fields.whole_or_none("lift_months", least=1),
    )
    fields.nothing_else()
    return house


def _job_type(fields: Fields) -> JobType:
    fields.named("key")
    job_type = JobType(
        key=fields.text("key"),
        title=fields.text("title"),
        says=fields.text("says"),
        young_person=YoungPerson(fields.one_of("young_person", [y.value for y in YoungPerson])),
        supervised_allowed=fields.yes_no("supervised"),
        at_start=_at_start(fields.under("at_start")),
        requirements=tuple(r for each in fields.each("requirements") if (r := read_requirement(each)) is not None),
    )
    fields.nothing_else()
    return job_type


def _at_start(fields: Fields) -> AtStart:
    at_start = AtStart(
        second_person=fields.one_of("second_person", SECOND_PERSON),
        maker_procedure=fields.yes_no("maker_procedure"),
        live_work_order=fields.yes_no("live_work_order"),
        cordon=fields.yes_no("cordon"),
        kit_kinds=fields.texts("kit", empty=True),
    )
    fields.nothing_else()
    return at_start


def _check_whole(book: RuleBook, faults: Faults) -> None:
    """What no single field shows: keys used twice, a job type to be held that is unknown or asks for itself."""
    keys = [j.key for j in book.job_types]
    for key in sorted({k for k in keys if keys.count(k) > 1}):
        faults.add(f"job type {key}", "the key is used twice")
    for job_type in book.job_types:
        for requirement in job_type.requirements:
            if isinstance(requirement, HoldsJobType) and requirement.job_type not in keys:
                faults.add(f"job type {job_type.key}", f"holds {requirement.job_type!r}, which is no job type here")
        if job_type.key in {held.key for held in holds_of(book, job_type)}:
            faults.add(f"job type {job_type.key}", "has to be held for itself")


def _house_mapping(house: House) -> dict[str, Any]:
    return {
        "glove_due_rule": house.glove_due_rule,
        "glove_floor": house.glove_floor,
        "cuff_gap_mm": None if house.cuff_gap_mm is None else int(house.cuff_gap_mm),
        "calibration_months": house.calibration_months,
        "lift_months": house.lift_months,
    }


def _job_type_mapping(job_type: JobType) -> dict[str, Any]:
    start = job_type.at_start
    return {
        "key": job_type.key,
        "title": job_type.title,
        "says": job_type.says,
        "young_person": job_type.young_person.value,
        "supervised": job_type.supervised_allowed,
        "at_start": {
            "second_person": start.second_person,
            "maker_procedure": start.maker_procedure,
            "live_work_order": start.live_work_order,
            "cordon": start.cordon,
            "kit": list(start.kit_kinds),
        },
        "requirements": [requirement_mapping(requirement) for requirement in job_type.requirements],
    }

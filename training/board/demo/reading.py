"""What the files of the demo say, read strictly: an unknown or missing field is an error that names its place."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal, TypeVar

import msgspec
import yaml
from django.conf import settings

Shape = TypeVar("Shape")


class Told(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One entry of a demo file. Days are whole days before the moment of loading."""


class Group(Told, frozen=True):
    """The firm; ``accepted`` questions of each topic are in use, the others wait for the checker."""

    slug: str
    name: str
    opened: int
    accepted: int
    password: str


class Site(Told, frozen=True):
    slug: str
    name: str
    zone: str
    regime: str


class Somebody(Told, frozen=True):
    """A person. ``signs_in_as`` is the role that the demo prints their sign-in for."""

    username: str
    name: tuple[str, str]
    tally: int
    workshop: str
    contract: str
    joined: int
    roles: tuple[str, ...] = ()
    towards: tuple[str, ...] = ()
    under_18: bool = False
    read_cautions: bool = True
    signs_in_as: str = ""


class Cast(Told, frozen=True):
    """The group, its workshops and its people."""

    group: Group
    workshops: tuple[Site, ...]
    people: tuple[Somebody, ...]


class Certificate(Told, frozen=True):
    """An outside certificate; ``tasks`` "all" where its scope names every practical task."""

    kind: str
    issuer: str
    issued: int
    months: int
    tasks: Literal["", "all"] = ""


class Named(Told, frozen=True, rename={"from_day": "from"}):
    """An appointment for job types; it ends after ``months``, or in ``until_in`` days from now."""

    job_types: tuple[str, ...]
    from_day: int
    months: int = 12
    until_in: int | None = None


class Mentoring(Told, frozen=True, rename={"from_day": "from"}):
    """An appointment as mentor for all practical tasks at a workshop."""

    tasks: Literal["all"]
    at: str
    from_day: int
    months: int


class StandDown(Told, frozen=True):
    """A medical one may be released, on a new medical answer (``answered_by``)."""

    by: str
    days_ago: int
    reason: str = ""
    cause: str = "other"
    medical: bool = False
    released_by: str = ""
    answered_by: str = ""
    released: int = 0


class Papers(Told, frozen=True):
    """What was entered about one person."""

    instructed: tuple[int, ...] = ()
    certificates: tuple[Certificate, ...] = ()
    appointed: tuple[Named, ...] = ()
    mentor: tuple[Mentoring, ...] = ()
    stood_down: tuple[StandDown, ...] = ()


class Practice(Told, frozen=True):
    """What one person was observed at: enough for these job types, but for the exceptions."""

    enough_for: tuple[str, ...]
    fewer: dict[str, int] = {}
    last_done: dict[str, int] = {}
    failed: tuple[str, ...] = ()


class LastAnswer(Told, frozen=True):
    """A wrong answer in one of the last shifts; ``talked_through`` days ago, 0 for not yet."""

    days_ago: int
    topic: str
    act: bool
    talked_through: int = 0


class Drilling(Told, frozen=True, rename={"from_day": "from"}):
    """How one person drills (see the file's head for the units)."""

    from_day: int
    a_week: float
    ability: float
    asks: int
    fade: float = 0.0
    minutes: int = 5
    until: int = 1
    recall_ends_in: tuple[int, int] | None = None
    at_last: tuple[LastAnswer, ...] = ()


class Happening(Told, frozen=True):
    """What happened to a kit item: a test, its first issue, or something noted."""

    days_ago: int
    passed: bool = True
    by: str = ""
    what: str = ""


class Kit(Told, frozen=True):
    """A kit item with its label and what happened to it."""

    ident: str
    kind: str
    title: str
    label: dict[str, Any]
    tested: tuple[Happening, ...] = ()
    issued: int | None = None
    noted: tuple[Happening, ...] = ()
    checked: tuple[Happening, ...] = ()
    retired: int | None = None


class StartedToday(Told, frozen=True):
    """What the start of work of a running job was asked with; its kit was checked today by who leads."""

    rear_axle_kg: float
    wheelbase_m: float
    front_pads_m: float
    rear_pads_m: float
    lead_kit: tuple[str, ...]


class JobToday(Told, frozen=True):
    """A job planned for the day of loading; ``starts_in`` and ``minutes`` count from the moment of loading."""

    job_type: str
    vehicle: str
    family: str
    bay: str
    highest_dc_v: float
    highest_ac_v: float
    mass_kg: float
    planned_by: str
    starts_in: int
    minutes: int
    lead: str = ""
    second: str = ""
    tasks: tuple[str, ...] = ()
    started: StartedToday | None = None


class Story(Told, frozen=True):
    """All files together, by username and by slug of the workshop."""

    cast: Cast
    papers: dict[str, Papers]
    practice: dict[str, Practice]
    drills: dict[str, Drilling]
    kit: dict[str, tuple[Kit, ...]]
    jobs: dict[str, tuple[JobToday, ...]]


def folder() -> Path:
    """Where the demo's files lie."""
    return Path(settings.BASE_DIR) / "fixtures_demo"


def read_cast() -> Cast:
    """The people alone. Raises ``msgspec.ValidationError`` naming the place of a fault."""
    return _read("people.yaml", Cast)


def read_story() -> Story:
    """Everything. Raises ``msgspec.ValidationError`` naming the place of a fault."""
    return Story(
        cast=read_cast(),
        papers=_read("papers.yaml", dict[str, Papers]),
        practice=_read("practice.yaml", dict[str, Practice]),
        drills=_read("drills.yaml", dict[str, Drilling]),
        kit=_read("kit.yaml", dict[str, tuple[Kit, ...]]),
        jobs=_read("jobs.yaml", dict[str, tuple[JobToday, ...]]),
    )


def _read(name: str, shape: type[Shape]) -> Shape:
    return msgspec.convert(yaml.safe_load((folder() / name).read_text(encoding="utf-8")), shape)

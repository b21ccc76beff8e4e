"""Workshop groups, workshops, people, the roles they hold and the job types they work towards."""

from __future__ import annotations

import secrets
from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.translation import gettext_lazy as _


def new_key() -> str:
    """A random key of 128 bits that says nothing about whom it stands for."""
    return secrets.token_hex(16)


class WorkshopGroup(models.Model):
    """The firm: its people, records and question bank; nothing crosses its wall."""

    name = models.CharField(max_length=120)
    slug = models.SlugField(unique=True)
    chain = models.OneToOneField("records.Chain", on_delete=models.PROTECT, related_name="group")

    def __str__(self) -> str:
        return self.name


class Workshop(models.Model):
    """One site: its rule book, kit, time zone and jobs. ``key`` stands for it in records."""

    class Regime(models.TextChoices):
        US = "US", _("United States")
        EU = "EU", _("Germany and EU")
        UK = "UK", _("United Kingdom")

    group = models.ForeignKey(WorkshopGroup, on_delete=models.PROTECT, related_name="workshops")
    key = models.CharField(max_length=32, default=new_key, unique=True, editable=False)
    slug = models.SlugField(unique=True)
    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=64)
    regime = models.CharField(max_length=2, choices=Regime.choices)
    opened_on = models.DateField()

    def __str__(self) -> str:
        return self.name


class PersonManager(BaseUserManager["Person"]):
    def create_person(self, *, username: str, password: str | None, **fields: Any) -> Person:
        """Add a person who can sign in with this password (None: cannot sign in until one is set)."""
        person = self.model(username=username, **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def get_by_natural_key(self, username: str | None) -> Person:
        return self.get(username=username)


class Person(AbstractBaseUser):
    """Anyone of the firm. What they may take is never stored here: it is worked out from records about ``key``."""

    class Contract(models.TextChoices):
        APPRENTICE = "apprentice", _("apprentice")
        TECHNICIAN = "technician", _("technician")
        OFFICE = "office", _("office and counter")

    group = models.ForeignKey(WorkshopGroup, on_delete=models.PROTECT, related_name="people")
    workshop = models.ForeignKey(Workshop, on_delete=models.PROTECT, related_name="people")
    key = models.CharField(max_length=32, default=new_key, unique=True, editable=False)
    username = models.CharField(max_length=60, unique=True)
    given_name = models.CharField(max_length=60)
    family_name = models.CharField(max_length=60)
    tally = models.PositiveIntegerField()
    contract = models.CharField(max_length=12, choices=Contract.choices)
    is_active = models.BooleanField(default=True)
    last_day = models.DateField(null=True, blank=True)  # as the newest record of a leaving day says
    cautions_read_at = models.DateTimeField(null=True, blank=True)

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS: ClassVar[list[str]] = []
    objects = PersonManager()

    class Meta:
        ordering = ["workshop_id", "tally"]
        constraints = [models.UniqueConstraint(fields=["group", "tally"], name="people_person_tally_once_in_group")]

    def __str__(self) -> str:
        return self.short_name

    @property
    def short_name(self) -> str:
        """Given name and initial, as the board shows it."""
        return f"{self.given_name} {self.family_name[:1]}."

    @property
    def full_name(self) -> str:
        return f"{self.given_name} {self.family_name}"


class RoleHeld(models.Model):
    """What a person may see and enter. Mentor is not here: it is an appointment, on record, for named tasks."""

    class Role(models.TextChoices):
        MANAGER = "manager", _("manager")
        AUTHOR = "author", _("author")
        CHECKER = "checker", _("checker")
        AUDITOR = "auditor", _("auditor")

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="roles")
    role = models.CharField(max_length=10, choices=Role.choices)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "role"], name="people_role_held_once")]

    def __str__(self) -> str:
        return f"{self.person}: {self.role}"


class WorksTowards(models.Model):
    """A job type that a person is asked to reach; everybody works towards the lowest anyway."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="works_towards")
    job_type = models.CharField(max_length=20)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "job_type"], name="people_works_towards_once")]

    def __str__(self) -> str:
        return f"{self.person} towards {self.job_type}"


class TriesCounted(models.Model):
    """How often a password was tried, per account, address or browser; the digest tells nobody which."""

    digest = models.CharField(max_length=64, primary_key=True)
    tries = models.PositiveIntegerField()
    last_at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return f"{self.tries} tries"

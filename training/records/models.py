"""The chain of a workshop group, its sealed records, their bodies, and the marks that cut stored clearances."""

from __future__ import annotations

from typing import Any

from django.db import models


class Changed(RuntimeError):
    """Someone tried to change or delete what is append-only."""


class AppendOnly(models.Model):
    """A row that is written once. The database refuses changes too (see the migrations); this says it earlier."""

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise Changed("A record is never changed. Write a new record that names the old one.")
        kwargs["force_insert"] = True
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise Changed("A record is never deleted. Write a new record that names the old one.")


class Chain(models.Model):
    """One per workshop group: how many records there are and the hash of the newest."""

    head_number = models.PositiveBigIntegerField(default=0)
    head_hash = models.CharField(max_length=64, default="0" * 64)
    newest_recorded_at = models.DateTimeField(null=True, blank=True)
    first_bad_number = models.PositiveBigIntegerField(null=True, blank=True)

    def __str__(self) -> str:
        return f"chain {self.pk} at record {self.head_number}"

    @property
    def is_sound(self) -> bool:
        """Whether the last verification found nothing wrong."""
        return self.first_bad_number is None


class Record(AppendOnly):
    """The sealed envelope of one fact. ``about`` is a random key of a person, workshop or kit item, never a name."""

    chain = models.ForeignKey(Chain, on_delete=models.PROTECT, related_name="records")
    number = models.PositiveBigIntegerField()
    kind = models.CharField(max_length=40)
    about = models.CharField(max_length=32)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    digest = models.CharField(max_length=64)
    previous = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)

    class Meta:
        ordering = ["chain_id", "number"]
        constraints = [models.UniqueConstraint(fields=["chain", "number"], name="records_record_number_once_in_chain")]
        indexes = [
            models.Index(fields=["chain", "about", "kind", "number"], name="records_by_about"),
            models.Index(fields=["chain", "kind", "number"], name="records_by_kind"),
        ]

    def __str__(self) -> str:
        return f"record {self.number} ({self.kind})"


class Body(AppendOnly):
    """What a record says, as canonical JSON, with the salt of its digest."""

    record = models.OneToOneField(Record, on_delete=models.PROTECT, related_name="body", primary_key=True)
    text = models.TextField()
    salt = models.CharField(max_length=32)

    def __str__(self) -> str:
        return f"body of {self.record}"


class Erased(AppendOnly):
    """Lets one body be deleted, and no other: ``evidence`` is the record that says so, the newest of its chain."""

    record = models.OneToOneField(Record, on_delete=models.PROTECT, related_name="erased", primary_key=True)
    evidence = models.ForeignKey(Record, on_delete=models.PROTECT, related_name="+")
    erased_on = models.DateField()

    def __str__(self) -> str:
        return f"erased: {self.record}"


class Mark(models.Model):
    """The newest record that names this key: a stored clearance computed before it is not believed."""

    chain = models.ForeignKey(Chain, on_delete=models.PROTECT, related_name="marks")
    key = models.CharField(max_length=32)
    number = models.PositiveBigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["chain", "key"], name="records_mark_once_per_key")]

    def __str__(self) -> str:
        return f"mark {self.number} on {self.key}"

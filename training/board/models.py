"""Stored clearances, which the board shows without working all out again, and the register of jobs."""

from __future__ import annotations

from django.db import models


class StoredClearance(models.Model):
    """One person, workshop and job type as last worked out; ``stored.py`` says when it is believed."""

    person = models.ForeignKey("people.Person", on_delete=models.CASCADE, related_name="clearances")
    workshop = models.ForeignKey("people.Workshop", on_delete=models.CASCADE, related_name="clearances")
    job_type = models.CharField(max_length=20)
    mode = models.CharField(max_length=12)
    until = models.DateTimeField(null=True, blank=True)
    decision = models.JSONField()
    computed_number = models.PositiveBigIntegerField()
    computed_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["person", "workshop", "job_type"], name="board_clearance_once_per_job_type")
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.job_type} {self.mode}"


class Job(models.Model):
    """A job's key and day, so that the jobs of a day are found; where it stands is folded from its records."""

    workshop = models.ForeignKey("people.Workshop", on_delete=models.PROTECT, related_name="jobs")
    key = models.CharField(max_length=64, unique=True)
    day = models.DateField(db_index=True)

    def __str__(self) -> str:
        return f"job {self.pk} of {self.day}"

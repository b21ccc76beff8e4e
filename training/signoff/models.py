"""An observation while it is being made; what is signed becomes a record."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from training.core.permission.evidence import Supervision


class Draft(models.Model):
    """One attempt being watched. Signed or left, it is never opened again."""

    class Judgement(models.TextChoices):
        READY = "ready", "ready"
        NOT_YET = "not yet", "not yet"

    person = models.ForeignKey("people.Person", on_delete=models.PROTECT, related_name="observed_in")
    mentor = models.ForeignKey("people.Person", on_delete=models.PROTECT, related_name="observing_in")
    workshop = models.ForeignKey("people.Workshop", on_delete=models.PROTECT, related_name="+")
    task = models.ForeignKey("bank.TaskVersion", on_delete=models.PROTECT, related_name="+")
    started_at = models.DateTimeField()
    steps = models.JSONField(default=list)
    supervision = models.CharField(
        max_length=13, choices=[(one.value, one.value) for one in Supervision], default=Supervision.ALONE.value
    )
    judgement = models.CharField(max_length=8, choices=Judgement.choices, blank=True)
    note = models.TextField(blank=True, max_length=2000)
    signed_at = models.DateTimeField(null=True, blank=True)
    left_at = models.DateTimeField(null=True, blank=True)
    record_number = models.PositiveBigIntegerField(null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(signed_at__isnull=True, record_number__isnull=True)
                | Q(signed_at__isnull=False, record_number__isnull=False),
                name="signoff_draft_signed_and_record_together",
            ),
            models.CheckConstraint(condition=~Q(person=models.F("mentor")), name="signoff_draft_not_for_oneself"),
            models.CheckConstraint(
                condition=Q(signed_at__isnull=True) | Q(left_at__isnull=True), name="signoff_draft_signed_or_left"
            ),
            models.UniqueConstraint(
                fields=["person", "mentor", "task"],
                condition=Q(signed_at__isnull=True, left_at__isnull=True),
                name="signoff_draft_one_open_per_attempt",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.task} by {self.person}"

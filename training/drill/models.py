"""Shift drills and their turns (working state), and recall per person and question (a cache of answers on record)."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from training.people.models import new_key


class Drill(models.Model):
    """The few minutes of questions for one shift. ``seconds_each`` is this person's pace when it was opened."""

    person = models.ForeignKey("people.Person", on_delete=models.PROTECT, related_name="drills")
    workshop = models.ForeignKey("people.Workshop", on_delete=models.PROTECT, related_name="drills")
    minutes = models.PositiveIntegerField()
    seconds_each = models.FloatField()
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["person"], condition=Q(closed_at__isnull=True), name="drill_drill_one_open_per_person"
            )
        ]

    def __str__(self) -> str:
        return f"drill {self.pk} of {self.person}"


class Turn(models.Model):
    """One question in a drill. ``seed`` fixes its numbers and the order its options are shown in."""

    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="turns")
    key = models.CharField(max_length=32, default=new_key, unique=True, editable=False)
    position = models.PositiveIntegerField()
    version = models.ForeignKey("bank.QuestionVersion", on_delete=models.PROTECT, related_name="turns")
    seed = models.PositiveBigIntegerField()
    order = models.JSONField(default=list, blank=True)
    shown_at = models.DateTimeField(null=True, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)
    response = models.JSONField(default=list, blank=True)
    commitment = models.CharField(max_length=3, blank=True)
    outcome = models.CharField(max_length=10, blank=True)
    too_fast = models.BooleanField(default=False)
    record_number = models.PositiveBigIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["drill_id", "position"]
        constraints = [
            models.UniqueConstraint(fields=["drill", "position"], name="drill_turn_position_once"),
            models.CheckConstraint(
                condition=Q(answered_at__isnull=True, outcome="", commitment="", record_number__isnull=True)
                | (Q(answered_at__isnull=False, record_number__isnull=False) & ~Q(outcome="") & ~Q(commitment="")),
                name="drill_turn_answer_and_record_together",
            ),
        ]

    def __str__(self) -> str:
        return f"turn {self.position} of {self.drill}"


class RecallState(models.Model):
    """Recall of one person for one question: the fold of that person's answers, kept for speed and never the source."""

    person = models.ForeignKey("people.Person", on_delete=models.CASCADE, related_name="recall_states")
    question = models.CharField(max_length=80)
    trace = models.JSONField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "question"], name="drill_recall_once_per_question")]

    def __str__(self) -> str:
        return f"recall of {self.question} by {self.person}"


class PersonBelief(models.Model):
    """What the answers say of one person, packed, and which answers it holds with the recall states beside it.

    ``folded_at`` and ``folded_to`` are the answer folded last, in order of happening; ``newest_answer`` is the highest
    record number among all answers that were folded, so that a late one shows; ``parameter_set`` the number of the set
    that they were folded with.
    """

    person = models.OneToOneField("people.Person", on_delete=models.CASCADE, related_name="belief", primary_key=True)
    packed = models.BinaryField()
    folded_at = models.DateTimeField(null=True, blank=True)
    folded_to = models.PositiveBigIntegerField(default=0)
    newest_answer = models.PositiveBigIntegerField(default=0)
    parameter_set = models.PositiveBigIntegerField(default=1)
    checked_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"belief about {self.person}"

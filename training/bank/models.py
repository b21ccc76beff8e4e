"""Questions and practical tasks of a workshop group, each in numbered versions."""

from __future__ import annotations

from typing import Any

from django.db import models

from training.core.questions.kinds import Consequence, Kind, Regime, Topic


def _choices(words: type[Any]) -> list[tuple[str, str]]:
    return [(word.value, word.value) for word in words]


class Question(models.Model):
    """One thing asked; what it says stands in its versions."""

    group = models.ForeignKey("people.WorkshopGroup", on_delete=models.PROTECT, related_name="questions")
    ident = models.SlugField(max_length=80)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["group", "ident"], name="bank_question_ident_once_in_group")]

    def __str__(self) -> str:
        return self.ident


class QuestionVersion(models.Model):
    """What a question said from this version on: ``content`` is its YAML entry; ``worked_out`` names a generator."""

    question = models.ForeignKey(Question, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    topic = models.CharField(max_length=20, choices=_choices(Topic))
    kind = models.CharField(max_length=14, choices=_choices(Kind))
    consequence = models.CharField(max_length=8, choices=_choices(Consequence))
    regime = models.CharField(max_length=4, choices=_choices(Regime))
    worked_out = models.CharField(max_length=60, blank=True)
    content = models.JSONField()
    digest = models.CharField(max_length=64)
    author = models.CharField(max_length=120)
    loaded_at = models.DateTimeField()

    class Meta:
        ordering = ["question_id", "number"]
        constraints = [models.UniqueConstraint(fields=["question", "number"], name="bank_version_number_once")]

    def __str__(self) -> str:
        return f"{self.question} version {self.number}"


class TaskVersion(models.Model):
    """A practical task as it stood from this version on: title, steps, critical steps, what the mentor looks for."""

    group = models.ForeignKey("people.WorkshopGroup", on_delete=models.PROTECT, related_name="tasks")
    ident = models.CharField(max_length=12)
    number = models.PositiveIntegerField()
    title = models.CharField(max_length=120)
    topic = models.CharField(max_length=20, choices=_choices(Topic))
    minutes = models.PositiveIntegerField()
    content = models.JSONField()
    digest = models.CharField(max_length=64)
    loaded_at = models.DateTimeField()

    class Meta:
        ordering = ["ident", "number"]
        constraints = [models.UniqueConstraint(fields=["group", "ident", "number"], name="bank_task_version_once")]

    def __str__(self) -> str:
        return f"{self.ident} version {self.number}"

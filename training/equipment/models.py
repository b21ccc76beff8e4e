"""The kit register of a workshop: what each item is and what its label says."""

from __future__ import annotations

from django.db import models

from training.people.models import new_key


class KitItem(models.Model):
    """One item. ``kind`` is a word of ``core.trade.fitness``; ``label`` holds what its rule looks at (class, rating).

    It is in service only while the record of adding it says the same.
    """

    workshop = models.ForeignKey("people.Workshop", on_delete=models.PROTECT, related_name="kit")
    key = models.CharField(max_length=32, default=new_key, unique=True, editable=False)
    ident = models.CharField(max_length=20)
    kind = models.CharField(max_length=24)
    title = models.CharField(max_length=120)
    label = models.JSONField(default=dict)
    retired_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["workshop_id", "kind", "ident"]
        constraints = [
            models.UniqueConstraint(fields=["workshop", "ident"], name="equipment_item_ident_once_in_workshop")
        ]

    def __str__(self) -> str:
        return f"{self.ident} {self.title}"

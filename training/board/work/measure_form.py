"""The form for a round of readings: only figures count, a tick proves nothing."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.board import facts
from training.board.work.asking import Asking
from training.board.work.events import number_text
from training.board.work.figures import VOLTS, FigureField
from training.board.work.job_form import JobForm
from training.core.permission.proving import Proving, Readings
from training.core.permission.running import Measured
from training.core.trade.meters import SOURCES, TestPoint
from training.records.facts import Fact


class Measure(JobForm):
    """A round of readings: the maker's values, the tester proved, every pair, the tester proved again."""

    title = gettext_lazy("Readings of every pair")
    button = gettext_lazy("Put the readings on record")
    hint = gettext_lazy(
        "In this order: prove the tester, measure without changing anything, prove it again. A tick proves nothing."
    )
    instrument = forms.ChoiceField(label=gettext_lazy("Instrument"))
    source = forms.ChoiceField(label=gettext_lazy("Known source"), choices=[(each, each) for each in SOURCES])
    by_procedure = forms.BooleanField(
        label=gettext_lazy("This vehicle's procedure accepts this source"), required=False
    )

    def __init__(self, *args: Any, asking: Asking, **kwargs: Any) -> None:
        super().__init__(*args, asking=asking, **kwargs)
        self.fields["instrument"].choices = [(each, each) for each in asking.instruments]  # type: ignore[attr-defined]
        start = asking.job.state.start
        self.points: tuple[TestPoint, ...] = start.points if start else ()
        self.is_dead = bool(start and start.proving is Proving.DEAD)
        self.currents = tuple(dict.fromkeys(point.current for point in self.points))
        self._add_makers_values(asking)
        for current in self.currents:
            self._add(f"source_{current}", _("%(kind)s: the source gives") % {"kind": current})
            self._add(f"before_{current}", _("%(kind)s, before: the tester shows") % {"kind": current})
        for number, point in enumerate(self.points):
            self._add(f"pair_{number}", _pair_words(point))
        for current in self.currents:
            self._add(f"after_{current}", _("%(kind)s, after: the tester shows") % {"kind": current})

    def _add(self, name: str, label: str, typed: float | None = None) -> None:
        self.fields[name] = FigureField(VOLTS, label=label, initial=None if typed is None else [f"{typed:g}", "1"])

    def _add_makers_values(self, asking: Asking) -> None:
        """The wait and the values at which this vehicle's maker calls a point dead; only where it is proved dead.

        They are as typed in the round before, since they are the procedure's; no reading ever is.
        """
        if not self.is_dead:
            return
        rounds = [event.readings for event in asking.job.events if isinstance(event, Measured)]
        before = rounds[-1] if rounds else Readings(instrument="", testers=(), read_v={})
        for current in self.currents:
            typed = before.maker.dc_v if current == "DC" else before.maker.ac_v
            self._add(f"maker_{current}", _("The maker's value for dead, %(kind)s") % {"kind": current}, typed)
        self.fields["maker_wait_min"] = forms.FloatField(
            label=_("The maker's wait, in minutes"),
            initial=before.maker_wait_min,
            required=False,
            min_value=0,
            max_value=600,
            widget=forms.NumberInput(attrs={"step": "any", "inputmode": "decimal"}),
        )

    def fact(self) -> Fact:
        said = self.cleaned_data
        return facts.PointsMeasured(
            instrument=said["instrument"],
            testers=[self._tried(current) for current in self.currents],
            pairs=[
                facts.PairRead(
                    side=point.side,
                    current=point.current,
                    first=point.first,
                    second=point.second,
                    read_v=number_text(said[f"pair_{number}"]),
                )
                for number, point in enumerate(self.points)
            ],
            maker_dc_v=number_text(said.get("maker_DC")),
            maker_ac_v=number_text(said.get("maker_AC")),
            maker_wait_min=number_text(said.get("maker_wait_min")),
            waited_min=number_text(self._waited_min()),
            by=self.asking.viewer.key,
        )

    def _tried(self, current: str) -> facts.SourceTried:
        said = self.cleaned_data
        return facts.SourceTried(
            current=current,
            source=said["source"],
            source_v=number_text(said[f"source_{current}"]),
            before_v=number_text(said[f"before_{current}"]),
            after_v=number_text(said[f"after_{current}"]),
            by_procedure=said["by_procedure"],
        )

    def _waited_min(self) -> float | None:
        """Since the lead's own lock went on, by the records' clock."""
        lock = self.asking.job.state.lock_of(self.asking.viewer.key)
        return None if lock is None else max(0.0, (self.asking.at - lock.since).total_seconds() / 60)


def _pair_words(point: TestPoint) -> str:
    side = _("pack side") if point.side == "pack" else _("vehicle side")
    return f"{point.current}: {point.first} – {point.second}, {side}"

"""manage.py recall_eval --csv FILE: how well recall predicts the answers of people it has not learnt from."""

from __future__ import annotations

import gzip
import io
import json
import zlib
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from training.core.memory.evaluation.ideas import tried
from training.core.memory.evaluation.protocols import PROTOCOLS, STUDENT
from training.core.memory.evaluation.report import SEED, evaluate
from training.core.memory.evaluation.rows import BadRows, Trials, read_trials
from training.core.memory.evaluation.simulated_bound import share_held

SIMULATED_PEOPLE, SIMULATED_FLOOR = 100, 0.25
GZIP_MARK = b"\x1f\x8b"
ROW = "{:<45} {:>8} {:>6} {:>6}"


class Command(BaseCommand):
    help = "Measure the recall model on a file of practice answers, beside published ways of predicting."
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--csv", type=Path, required=True, help="person, split, question, ms, answer, latency_s")
        parser.add_argument("--protocol", choices=PROTOCOLS, default=STUDENT, help="held-out people, or later answers")
        parser.add_argument("--json", action="store_true", help="print one JSON object")
        parser.add_argument(
            "--other-states", type=int, metavar="SEED", help="compare other fixed-size states by four folds instead"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["other_states"] is not None:
            self._other_states(trials_of(options["csv"]), options["other_states"])
            return
        try:
            report = evaluate(trials_of(options["csv"]), options["protocol"]).as_dict()
        except BadRows as bad:
            raise CommandError(f"{options['csv'].name}: {bad}") from bad
        self.stdout.write(json.dumps(report, indent=2) if options["json"] else as_table(report))

    def _other_states(self, trials: Trials, seed: int) -> None:
        for name, found in tried(trials, seed).items():
            self.stdout.write(f"{name:<45} {found.log_loss:>8.4f} {found.auc:>6.4f} {found.ece:>6.3f}")


def trials_of(path: Path) -> Trials:
    """Return the trials of a plain or gzipped CSV file; CommandError or BadRows when it cannot be read."""
    try:
        stored = path.read_bytes()
        plain = gzip.decompress(stored) if stored.startswith(GZIP_MARK) else stored
        text = plain.decode("utf-8-sig")
    except OSError as unreadable:
        reason = unreadable.strerror or str(unreadable)
        raise CommandError(f"{path.name} cannot be read: {reason}; give a file that can") from unreadable
    except (EOFError, zlib.error) as cut:
        raise CommandError(f"{path.name} is cut short or damaged; copy it again") from cut
    except UnicodeDecodeError as not_text:
        line = plain[: not_text.start].count(b"\n") + 1
        raise CommandError(f"{path.name}: line {line}: not UTF-8 text; save the file as UTF-8") from not_text
    return read_trials(io.StringIO(text, newline=""))


def as_table(report: dict[str, Any]) -> str:
    """Return the report as lines of text, and how the bound does where the truth is known."""
    lines = [f"protocol: {report['protocol']}"]
    for part, heading in (("late", "late answers"), ("day", "late and first answers")):
        lines += ["", ROW.format(f"{heading} (n {report[part]['n']})", "log loss", "AUC", "ECE")]
        ways = {report["model"]: report, **report["baselines"]}
        lines += [ROW.format(name, *_figures(scores[part])) for name, scores in ways.items()]
    below = report["below_5pct"]
    lines += ["", f"under the 5 % bound: {'nobody had a gap' if below is None else f'{below:.1%} of people'}"]
    held = share_held(SIMULATED_PEOPLE, SIMULATED_FLOOR, SEED)
    lines += [f"made-up people who guess one in four right: the bound holds for {held:.1%} of questions"]
    return "\n".join(lines)


def _figures(score: dict[str, Any]) -> list[str]:
    return ["-" if score[key] is None else f"{score[key]:.4f}" for key in ("log_loss", "auc", "ece")]

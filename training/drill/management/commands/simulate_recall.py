"""manage.py simulate_recall: a made-up crew drills for eighteen months; what floors and ways of asking come to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from multiprocessing import get_context
from pathlib import Path
from typing import Any, TypeAlias

from django.core.management.base import BaseCommand, CommandError, CommandParser

from training.bank.files import read_bank
from training.bank.rule_books import starting_book
from training.core.memory.simulation.asked import Asks, QuestionShape
from training.core.memory.simulation.crew import Spread
from training.core.memory.simulation.crews import Each, Role, Scenario, counting, run_crew
from training.core.memory.simulation.drawing import Panel, drawn
from training.core.memory.simulation.months import Months
from training.core.memory.simulation.tally import held_by_week, tally_of
from training.core.memory.simulation.truth import FITTED
from training.core.memory.simulation.ways import DOUBLING, MONTHLY, OURS, RANDOM
from training.core.permission.reading import rule_book_from
from training.core.permission.rule_book import RecallOf, RuleBook, holds_of
from training.core.questions.kinds import Regime
from training.core.questions.marking import chance_floor

WORK = (
    ("moves and washes (A)", 0.15, ("A",)),
    ("works beside HV (B)", 0.25, ("B",)),
    ("isolates (C)", 0.25, ("C", "second person")),
    ("works on HV parts (D)", 0.20, ("D", "second person")),
    ("takes in damaged cars (G)", 0.15, ("G", "second person")),
)  # shares of the crew [assumed]
Point: TypeAlias = tuple[float, float | None, int | None]
BESIDE: Point = (0.60, 0.40, 4)  # life floor, mean floor (None: life questions only), how many of either count a topic
POINTS: tuple[Point, ...] = (
    (0.50, 0.30, 3),
    (0.70, 0.50, 3),
    BESIDE,
    (0.60, 0.40, 6),
    (0.60, None, 4),
    (0.60, None, 6),
    (0.50, 0.30, None),
    (0.60, 0.40, None),
)
DRAWN: tuple[Point, ...] = (BESIDE, (0.60, 0.40, 6), (0.60, 0.40, None))
BOOK = "the starting rule book"
HEAD = (
    f"{'':<44}{'held':>7}{'true':>7}{'false +':>9}{'false -':>9}{'< .7':>8}{'any':>7}"
    f"{'blocked':>9}{'median':>8}{'min/wk':>8}{'bound':>7}"
)


class Command(BaseCommand):
    help = "Simulate a crew that forgets by another model than ours; print what it comes to and draw it."
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--bank", type=Path, required=True, help="folder of question files")
        parser.add_argument("--regime", choices=[one.value for one in Regime if one is not Regime.ALL], default="EU")
        parser.add_argument("--people", type=int, default=200)
        parser.add_argument("--weeks", type=int, default=78)
        parser.add_argument("--seed", type=int, default=20)
        parser.add_argument("--processes", type=int, default=2)
        parser.add_argument("--work", choices=[keys[0] for _title, _share, keys in WORK], help="one kind of work alone")
        parser.add_argument("--svg", type=Path, help="where to draw the shares of days by week")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["people"] < 20 or options["weeks"] < 20:
            raise CommandError("a crew needs at least 20 people and 20 weeks")
        bank = shapes_of(options["bank"], options["regime"])
        with get_context("spawn").Pool(options["processes"]) as pool:
            self._simulate(bank, options, lambda one, turns: pool.imap(one, turns))

    def _simulate(self, bank: Sequence[QuestionShape], options: dict[str, Any], each: Each) -> None:
        roles = roles_of(rule_book_from(starting_book()), options["work"])
        people, weeks = options["people"], options["weeks"]

        def run(title: str, who: Sequence[Role], number: int, **more: Any) -> list[Months]:
            asked = Scenario(title=title, roles=tuple(who), people=number, weeks=weeks, **more)
            crew = run_crew(asked, bank, options["seed"], each=each)
            self._line(title, crew)
            return crew

        self.stdout.write(f"{len(bank)} questions; {people} people, {weeks} weeks, seed {options['seed']}\n{HEAD}")
        if options["work"]:
            run(roles[0].title, roles, people)
            return
        ways = {way: run(way, roles, people, way=way) for way in (OURS, MONTHLY, DOUBLING, RANDOM)}
        self._by_role(roles, ways[OURS])
        everything = [Role(title="all job types", share=1.0, sought=_all_asked(roles))]
        some = max(people // 5, 10)
        for point in POINTS:
            run(f"crew, {named(point)}", with_point(roles, point), some)
        at_once = {BOOK: run(f"all at once, {BOOK}", everything, some)}
        for point in POINTS:
            at_once[named(point)] = run(f"all at once, {named(point)}", with_point(everything, point), some)
        run("harder questions", roles, some, spread=Spread(mean_off=min(FITTED.group_offs)))
        run("forgetting as our model says", roles, some, own_model=True)
        if options["svg"]:
            options["svg"].write_text(picture(ways, at_once), encoding="utf-8")

    def _by_role(self, roles: Sequence[Role], crew: Sequence[Months]) -> None:
        for place, role in enumerate(roles):
            self._line(f"  {role.title}", [one for one in crew if one.work == place])

    def _line(self, title: str, crew: Sequence[Months]) -> None:
        self.stdout.write(line_of(title, crew))
        self.stdout.flush()


def line_of(title: str, crew: Sequence[Months]) -> str:
    """One line of the table."""
    at = tally_of(crew)
    return (
        f"{title:<44}{at.held:>7.1%}{at.true:>7.1%}{at.false_cleared:>9.2%}{at.false_not_cleared:>9.1%}{at.below:>8.2%}"
        f"{at.any_below:>7.1%}{at.blocked:>9.1%}{at.stood_days:>7.1f}d{at.minutes:>8.1f}{at.honest:>7.1%}"
    )


def shapes_of(folder: Path, regime: str) -> list[QuestionShape]:
    """What the simulation needs of the questions of a bank that hold in a regime; CommandError for a faulty bank."""
    read = read_bank(folder)
    if read.errors or not read.entries:
        raise CommandError(f"{folder.name}: {len(read.errors)} errors, {len(read.entries)} questions; see check_bank")
    asked = [entry.question for entry in read.entries if entry.question.regime in (Regime.ALL, Regime(regime))]
    return [
        QuestionShape(
            name=question.id,
            topic=question.topic.value,
            consequence=question.consequence.value,
            chance_floor=chance_floor(question),
        )
        for question in asked
    ]


def roles_of(book: RuleBook, work: str | None = None) -> tuple[Role, ...]:
    """The kinds of work of the simulated crew, with what a rule book asks of recall, nearest job type first.

    ``work``: the job type of one of them, which then is everybody's.
    """
    return tuple(
        Role(title=title, share=1.0 if work else share, sought=_sought(book, keys))
        for title, share, keys in WORK
        if work in (None, keys[0])
    )


def with_point(roles: Iterable[Role], point: Point) -> tuple[Role, ...]:
    """The roles at a point of the curve: life floor, mean floor, questions that count per topic."""
    life_floor, mean_floor, per_topic = point
    return counting(roles, life_floor=life_floor, mean_floor=mean_floor, per_topic=per_topic)


def named(point: Point) -> str:
    """A point in words."""
    life_floor, mean_floor, per_topic = point
    if mean_floor is None:
        return f"{per_topic} life a topic, {life_floor:.2f}"
    count = "all count" if per_topic is None else f"{per_topic} + {per_topic} a topic"
    return f"{count}, {life_floor:.2f} / {mean_floor:.2f}"


def picture(ways: dict[str, list[Months]], at_once: dict[str, list[Months]]) -> str:
    """The drawing: ways of asking above, all job types at once below."""
    panels = (
        Panel(
            title=f"All job types of one's work held, {BOOK}",
            lines={way: held_by_week(crew) for way, crew in ways.items()},
        ),
        Panel(
            title="All default job types at once, our composer, 0.60 / 0.40",
            lines={name.split(",")[0]: held_by_week(at_once[name]) for name in (BOOK, *map(named, DRAWN))},
        ),
    )
    says = "; ".join(
        f"{name}: {tally_of(crew).held:.0%} of days from week 16 on" for name, crew in [*ways.items(), *at_once.items()]
    )
    return drawn(panels, "Share of days at work on which recall meets all floors, by week", says)


def _sought(book: RuleBook, keys: Sequence[str]) -> tuple[Asks, ...]:
    wanted = {one.key for key in keys for one in (book.job_type(key), *holds_of(book, book.job_type(key)))}
    return tuple(
        Asks(
            job_type=job_type.key,
            topics=tuple(topic.value for topic in asked.topics),
            life_floor=asked.life_floor,
            mean_floor=asked.topic_mean_floor,
            most_life=asked.most_life_questions,
            most_a_topic=asked.most_a_topic,
            share_answered=book.share_of_others_answered,
        )
        for job_type in book.job_types
        if job_type.key in wanted
        for asked in job_type.requirements
        if isinstance(asked, RecallOf)
    )


def _all_asked(roles: Sequence[Role]) -> tuple[Asks, ...]:
    asked = {asks.job_type: asks for role in roles for asks in role.sought}
    return tuple(asked[key] for key in sorted(asked, key=lambda key: (len(key), key)))

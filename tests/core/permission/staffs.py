"""Random mentors of a house, named by one or two, from inside or outside; and exceptions of small shops."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from tests.core.permission.builders import MENTORS, TASKS, TODAY, certificate, mentor, named_mentor, number
from training.core.permission.evidence import PersonEvidence, SmallShop

SECOND = {"by": "boss", "second_by": "chief", "second_on": date(2025, 6, 1)}
UNSIGNED = {"by": "boss", "second_by": "", "second_on": None}


def past_day(most: int = 500) -> st.SearchStrategy[date]:
    return st.integers(0, most).map(lambda days: TODAY - timedelta(days=days))


def staff(draw: st.DrawFn) -> dict[str, PersonEvidence]:
    """Mia, Max and Moe: mostly named by two; or some of them by one alone, or from outside, or not at all.

    Moe's authority only ever grows, and nobody's ends in the days in which a remedy is done.
    """
    if draw(st.integers(0, 2)) == 0:
        return {key: mentor(key, mentor_appointments=(named_mentor(**SECOND),)) for key in MENTORS}
    return {key: mentor(key, **_papers(draw, lapse=key != "moe")) for key in MENTORS}


def _papers(draw: st.DrawFn, *, lapse: bool) -> dict[str, Any]:
    late = {**SECOND, "second_on": draw(past_day(200))}
    signed = draw(st.sampled_from([SECOND, SECOND, UNSIGNED, {**SECOND, "second_by": "boss"}, late]))
    outside = draw(st.booleans())
    issued = draw(st.sampled_from([date(2025, 5, 1), date(2024, 3, 1)]))
    through = draw(st.sampled_from([None, None, date(2025, 12, 20), date(2026, 9, 1)])) if lapse else None
    tasks = draw(st.sampled_from([TASKS, TASKS, frozenset({"T1"})]))
    return {
        "mentor_appointments": (named_mentor(tasks, outside=outside, **signed),) * (draw(st.integers(0, 4)) > 0),
        "certificates": (certificate("HV course", issued, through_day=through, tasks=TASKS),),
    }


def small_shop(start: date, length: int, early: int, who: tuple[str, str], **fields: Any) -> SmallShop:
    gone = fields.pop("gone")
    return SmallShop(
        record=number(),
        from_day=start,
        through_day=start + timedelta(days=length),
        entered_on=start - timedelta(days=early),
        by=who[0],
        second_by=who[1],
        withdrawn_from=None if gone is None else start + timedelta(days=gone),
        **fields,
    )


def small_shops(most_days: int = 200) -> st.SearchStrategy[SmallShop]:
    """Exceptions that began some days ago at the latest, mostly in force and signed by two; nothing is to come."""
    start = st.integers(5, most_days).map(lambda days: TODAY - timedelta(days=days))
    return start.flatmap(
        lambda day: st.builds(
            small_shop,
            st.just(day),
            st.sampled_from([most_days + 20, most_days + 200, most_days + 400, 90]),
            st.sampled_from([0, 0, 0, -4, 5]),
            st.sampled_from(
                [("boss", "chief")] * 6 + [("boss", ""), ("boss", "boss"), ("tom", "boss"), ("boss", "mia")]
            ),
            tasks=st.sampled_from([None, None, frozenset({"T1"}), frozenset({"T2"}), frozenset({"T1", "T2"})]),
            workshop=st.sampled_from(["shop"] * 9 + ["elsewhere"]),
            confirmed_on=st.sampled_from([None, day, day + timedelta(days=3)]),
            gone=st.sampled_from([None, None, None, None, 4, most_days + 90]),
        )
    )

"""Validity arithmetic against Reg. 1182/71, the cases of English law, and the tz database's odd days."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo, available_timezones

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from training.core.trade.calendar import (
    add_months,
    close_of_day,
    last_day_in_window,
    local_day,
    rubber_limit,
    through_day,
)
from training.core.trade.errors import BadInput, NotADate, NotANumber, OutOfRange, UnknownZone

DAYS = st.dates(date(1990, 1, 1), date(2090, 12, 31))
MONTHS = st.integers(1, 120)
# Zones with midnight jumps, half-hour shifts, far offsets and ordinary habits.
ZONES = (
    *("Africa/Cairo", "America/Havana", "America/New_York", "America/Santiago", "America/St_Johns", "America/Toronto"),
    *("Asia/Beirut", "Asia/Kathmandu", "Asia/Kolkata", "Asia/Tokyo", "Atlantic/Azores", "Australia/Adelaide"),
    *("Australia/Lord_Howe", "Europe/Berlin", "Europe/Lisbon", "Europe/London", "America/Caracas", "Asia/Tehran"),
    *("America/Phoenix", "Africa/Casablanca", "Pacific/Apia", "Pacific/Auckland", "Pacific/Chatham"),
    *("Pacific/Kiritimati", "UTC"),
)

THROUGH = [
    # (event, months, last valid day, source)
    ("2025-08-31", 6, "2026-02-28", "Reg. 1182/71 Art 3(2)(c): no such day, last day of the month"),
    ("2023-08-31", 6, "2024-02-29", "Reg. 1182/71 Art 3(2)(c), leap year"),
    ("2024-08-28", 6, "2025-02-28", "Reg. 1182/71, many to one"),
    ("2024-08-29", 6, "2025-02-28", "Reg. 1182/71, many to one"),
    ("2024-08-30", 6, "2025-02-28", "Reg. 1182/71, many to one"),
    ("2024-08-31", 6, "2025-02-28", "Reg. 1182/71, many to one"),
    ("1978-09-30", 4, "1979-01-30", "Dodds v Walker: corresponding date, not month end"),
    ("2024-03-23", 2, "2024-05-23", "E J Riley: the same day counts as reached"),
    ("2024-02-29", 12, "2025-02-28", "leap day: the earlier of the two laws, fail closed"),
    ("2024-02-29", 48, "2028-02-29", "leap day to leap day"),
    ("2025-01-31", 2, "2025-03-31", "no chaining: from the event, not from a computed end"),
    ("2025-01-31", 1, "2025-02-28", "clamped"),
    ("2025-02-28", 1, "2025-03-28", "no sticky month end (Oracle ADD_MONTHS gives 03-31)"),
    ("2025-08-31", 12, "2026-08-31", "ends on a Monday all the same; SQLite's overflow never used"),
    ("2025-11-30", 3, "2026-02-28", "a Saturday: Art 3(4) is not applied to safety validity"),
    ("2024-11-24", 12, "2025-11-24", "29 CFR 1910.147(c)(6)(i), trade-facts I09 as read by C26"),
    ("2022-11-24", 36, "2025-11-24", "NFPA 70E 110.6 three years, I26"),
    ("2023-03-10", 24, "2025-03-10", "DGUV Vorschrift 1 s.26, P27"),
]


@pytest.mark.parametrize(("event", "months", "last_day", "source"), THROUGH, ids=[row[3] for row in THROUGH])
def test_a_thing_is_good_through_the_same_numbered_day(event: str, months: int, last_day: str, source: str) -> None:
    assert through_day(date.fromisoformat(event), months) == date.fromisoformat(last_day)


def test_adding_to_a_computed_end_would_lose_days_so_ends_are_counted_from_the_event() -> None:
    assert add_months(add_months(date(2025, 1, 31), 1), 1) == date(2025, 3, 28)  # competence-rules 13, chaining
    assert add_months(date(2025, 1, 31), 2) == date(2025, 3, 31)


@pytest.mark.parametrize(
    ("tested", "months", "limit"),
    [("2025-01-10", 12, "2026-01-10"), ("2018-08-01", 6, "2019-02-01"), ("2023-08-31", 6, "2024-02-29")],
    ids=["G23 blanket", "OSHA letter 2019-01-25", "month end, leap"],
)
def test_rubber_is_out_of_date_on_its_limit_day(tested: str, months: int, limit: str) -> None:
    assert rubber_limit(date.fromisoformat(tested), months) == date.fromisoformat(limit)


def test_the_first_and_the_last_year_of_the_calendar_are_still_in_it() -> None:
    assert add_months(date(2, 1, 31), -12) == date(1, 1, 31)
    assert add_months(date(9998, 12, 31), 12) == date(9999, 12, 31)
    assert add_months(date(1, 6, 1), 1) == date(1, 7, 1)


def test_day_ninety_of_a_ninety_day_window_still_counts() -> None:
    # competence-rules 13: 2 Mar 2026 - 90 = 2 Dec 2025 counts; 1 Dec does not
    assert last_day_in_window(date(2025, 12, 2), 90) == date(2026, 3, 2)
    assert last_day_in_window(date(2025, 12, 1), 90) < date(2026, 3, 2)


CLOSES = [
    # competence-rules section 13; tz database
    ("2026-02-28", "Europe/Berlin", "2026-02-28T23:00"),
    ("2026-02-28", "America/New_York", "2026-03-01T05:00"),
    ("2026-02-28", "Pacific/Auckland", "2026-02-28T11:00"),
    ("2026-03-29", "Europe/Berlin", "2026-03-29T22:00"),
    ("2026-10-25", "Europe/Berlin", "2026-10-25T23:00"),
    ("2026-03-28", "Asia/Beirut", "2026-03-28T22:00"),
    ("2026-04-23", "Africa/Cairo", "2026-04-23T22:00"),
    ("2026-09-05", "America/Santiago", "2026-09-06T04:00"),
    ("2026-03-07", "America/Havana", "2026-03-08T05:00"),
    ("2026-03-28", "Atlantic/Azores", "2026-03-29T01:00"),
    ("1919-03-30", "America/Toronto", "1919-03-31T04:30"),  # clocks jumped from 23:30 to 00:30
    ("2011-12-29", "Pacific/Apia", "2011-12-30T10:00"),  # 30 December 2011 did not happen in Samoa
]


@pytest.mark.parametrize(("day", "zone", "instant"), CLOSES, ids=[f"{row[1]} {row[0]}" for row in CLOSES])
def test_a_day_closes_at_the_start_of_the_next_local_day(day: str, zone: str, instant: str) -> None:
    assert close_of_day(date.fromisoformat(day), zone) == datetime.fromisoformat(instant).replace(tzinfo=UTC)


@pytest.mark.parametrize(("day", "hours"), [("2026-03-29", 23), ("2026-10-25", 25), ("2026-06-01", 24)])
def test_berlin_days_have_the_hours_that_the_law_gives_them(day: str, hours: int) -> None:
    on = date.fromisoformat(day)
    length = close_of_day(on, "Europe/Berlin") - close_of_day(on - timedelta(days=1), "Europe/Berlin")
    assert length == timedelta(hours=hours)


@given(DAYS, DAYS, MONTHS)
def test_an_earlier_event_never_ends_later(one: date, other: date, months: int) -> None:
    first, second = sorted((one, other))
    assert through_day(first, months) <= through_day(second, months)


@given(DAYS, MONTHS)
def test_an_end_is_in_the_month_counted_to_and_never_past_the_same_number(day: date, months: int) -> None:
    end = add_months(day, months)
    assert (end.year * 12 + end.month) - (day.year * 12 + day.month) == months
    assert end.day <= day.day
    assert end.day == day.day or (end + timedelta(days=1)).day == 1


# tz database: Samoa and the Line Islands each crossed the date line and had no such day
LEFT_OUT = {("Pacific/Apia", date(2011, 12, 30)), ("Pacific/Kiritimati", date(1994, 12, 31))}


@given(DAYS, st.sampled_from(ZONES))
@example(date(2011, 12, 29), "Pacific/Apia")
@example(date(1994, 12, 30), "Pacific/Kiritimati")
def test_the_last_second_before_closing_is_that_day_and_the_closing_instant_is_not(day: date, zone: str) -> None:
    close = close_of_day(day, zone)
    if local_day(close, zone) == day + timedelta(days=2):  # a day that the zone left out
        assert (zone, day + timedelta(days=1)) in LEFT_OUT
    else:
        assert local_day(close, zone) == day + timedelta(days=1)
        assert local_day(close - timedelta(seconds=1), zone) == day


@given(DAYS, st.sampled_from(ZONES))
def test_days_close_in_order_and_in_whole_seconds(day: date, zone: str) -> None:
    close, following = close_of_day(day, zone), close_of_day(day + timedelta(days=1), zone)
    assert close <= following
    assert close.utcoffset() == timedelta(0)
    assert close.microsecond == 0


@given(st.integers(0, 3_000_000_000), st.sampled_from(ZONES), st.sampled_from(ZONES))
def test_the_answer_is_the_same_for_a_viewer_in_any_zone(second: int, site: str, viewer: str) -> None:
    instant = datetime.fromtimestamp(second, UTC)
    assert local_day(instant.astimezone(ZoneInfo(viewer)), site) == local_day(instant, site)


def test_a_zone_may_be_given_by_its_name_or_ready_made() -> None:
    day, instant = date(2026, 3, 28), datetime(2026, 3, 28, 23, 30, tzinfo=UTC)  # 00:30 on the 29th in Berlin
    ready = ZoneInfo("Europe/Berlin")
    assert close_of_day(day, ready) == close_of_day(day, "Europe/Berlin")
    assert local_day(instant, ready) == local_day(instant, "Europe/Berlin") == date(2026, 3, 29)


def test_every_zone_of_the_database_can_close_a_day_of_2026() -> None:
    for zone in sorted(available_timezones()):
        close = close_of_day(date(2026, 3, 28), zone)
        assert local_day(close, zone) > date(2026, 3, 28) >= local_day(close - timedelta(seconds=1), zone), zone


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (lambda: add_months(datetime(2026, 1, 1, tzinfo=UTC), 1), NotADate),
        (lambda: add_months(date(2026, 1, 1), True), NotANumber),
        (lambda: add_months(date(9999, 12, 1), 1), OutOfRange),
        (lambda: last_day_in_window(datetime(2026, 1, 1, tzinfo=UTC), 1), NotADate),
        (lambda: close_of_day(datetime(2026, 1, 1, tzinfo=UTC), "UTC"), NotADate),
        (lambda: local_day(date(2026, 1, 1), "UTC"), NotADate),
        (lambda: local_day(None, "UTC"), NotADate),
        (lambda: add_months(date(1, 1, 1), -1), OutOfRange),
        (lambda: through_day(date(2026, 1, 1), 0), OutOfRange),
        (lambda: rubber_limit(date(2026, 1, 1), -1), OutOfRange),
        (lambda: last_day_in_window(date(9999, 12, 31), 1), OutOfRange),
        (lambda: close_of_day(date(2026, 1, 1), "Europe/Nowhere"), UnknownZone),
        (lambda: close_of_day(date(2026, 1, 1), "../etc/passwd"), UnknownZone),
        (lambda: close_of_day(date(2026, 1, 1), "Europe"), UnknownZone),
        (lambda: close_of_day(date(2026, 1, 1), ""), UnknownZone),
        (lambda: close_of_day(date.max, "UTC"), OutOfRange),
        (lambda: local_day(datetime(2026, 1, 1), "UTC"), NotADate),  # noqa: DTZ001 - the fault under test
    ],
)
def test_what_is_no_date_number_or_zone_is_refused_with_what_to_give(call, error: type[BadInput]) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(error) as caught:
        call()
    assert caught.value.what
    assert caught.value.give.startswith("Give")

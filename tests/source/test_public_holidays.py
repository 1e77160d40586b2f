"""Public holidays looked up in the library, and what is said where it cannot know."""

from __future__ import annotations

import datetime as dt
import sys
from importlib.metadata import version
from importlib.util import find_spec

import pytest

from ferrule.compute.calendars import calendar_of, previous_open_day
from ferrule.source.public_holidays import public_holidays

installed = pytest.mark.skipif(find_spec("holidays") is None, reason="the extra `calendars` is not installed")

# First day of the lunar new year at UTC+8 and, as Tet, at UTC+7. Tables seen at factmonster.com (id A0192339) and
# topmarks.co.uk (When is Chinese New Year); recomputed from new moons. In 2030 the moon is new on 2 February at
# 16:07 UTC: after midnight in one country, before it in the other.
LUNAR_NEW_YEAR = [
    ("2024-02-10", "2024-02-10"),
    ("2025-01-29", "2025-01-29"),
    ("2026-02-17", "2026-02-17"),
    ("2027-02-06", "2027-02-06"),
    ("2028-01-26", "2028-01-26"),
    ("2029-02-13", "2029-02-13"),
    ("2030-02-03", "2030-02-02"),
]


def days_of(country: str, *years: int) -> frozenset[dt.date]:
    found = public_holidays(country, years)
    assert found.days is not None
    assert found.reason == ""
    return found.days


@installed
@pytest.mark.parametrize(("china", "vietnam"), LUNAR_NEW_YEAR)
def test_lunar_new_year_is_where_the_tables_have_it(china: str, vietnam: str) -> None:
    year = int(china[:4])
    assert dt.date.fromisoformat(china) in days_of("CN", year)
    assert dt.date.fromisoformat(vietnam) in days_of("VN", year)


@installed
def test_tet_of_2030_is_a_day_before() -> None:
    # the eve is off in both countries, so the first day off in February tells them apart
    assert min(day for day in days_of("VN", 2030) if day.month == 2) == dt.date(2030, 2, 1)
    assert min(day for day in days_of("CN", 2030) if day.month == 2) == dt.date(2030, 2, 2)


@installed
def test_a_first_day_on_a_sunday_is_no_day_off_in_hong_kong() -> None:
    # 3 February 2030 is a Sunday; the second to the fourth day are given. The calendar's weekend covers the first
    days = days_of("HK", 2030)
    assert {dt.date(2030, 2, day) for day in (3, 4, 5, 6)} - days == {dt.date(2030, 2, 3)}


@installed
def test_days_off_in_place_of_others_count_where_they_were_announced() -> None:
    # 2026: 20 and 23 February, Friday and Monday, are off for Saturdays worked on the 14th and 28th (announced by
    # the government; common practice is to wait for it each autumn). Those Saturdays stay closed here
    days = days_of("CN", 2026)
    assert {dt.date(2026, 2, 20), dt.date(2026, 2, 23)} <= days
    assert dt.date(2026, 2, 14) not in days


@installed
def test_only_the_years_asked_for() -> None:
    days = days_of("NL", 2026, 2028, 2026)
    assert {day.year for day in days} == {2026, 2028}
    assert dt.date(2026, 12, 25) in days
    assert days_of("NL") == frozenset()


@installed
def test_they_close_a_calendar() -> None:
    # King's Day, Tuesday 27 April 2027
    calendar = calendar_of(None, days_of("NL", 2027))
    assert previous_open_day(calendar, dt.date(2027, 4, 27)) == dt.date(2027, 4, 26)


@installed
def test_what_was_asked_is_named_with_its_version() -> None:
    assert public_holidays("NL", [2027]).library == f"holidays {version('holidays')}"


@installed
def test_days_computed_ahead_of_a_sighting_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LANGUAGE", "ar")  # the library translates names, the mark among them
    found = public_holidays("AE", [2050])
    assert found.days is not None
    assert dt.date(2050, 12, 2) in found.days - found.estimated  # National Day, by the civil calendar
    assert found.estimated
    assert found.estimated <= found.days
    assert public_holidays("NL", [2050]).estimated == frozenset()


@installed
@pytest.mark.parametrize("country", ["EU", "ZZ", ""])
def test_an_unknown_country_has_unknown_days(country: str) -> None:
    found = public_holidays(country, [2027])
    assert found.days is None
    assert found.reason == f"{found.library} does not know country {country}"


@installed
def test_a_year_beyond_the_tables_is_unknown_and_not_without_holidays() -> None:
    found = public_holidays("CN", [2027, 2500, 1900])
    assert found.days is None
    assert found.reason.startswith(f"{found.library} does not know 1900, 2500 for CN, only 1950 to ")


def test_without_the_library_the_days_are_unknown(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(
        sys.modules, "holidays", None
    )  # Python's own way to say that a module cannot be imported
    found = public_holidays("NL", [2027])
    assert (found.days, found.library) == (None, None)
    assert (
        found.reason == "the optional library `holidays` is not installed (`pip install ferrule[calendars]`)"
    )

"""Hand-worked walks. Weekdays used below: 1 January 2027 is a Friday, 1 February and 1 March 2027 are Mondays."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest

from ferrule.compute.calendars import (
    LegTime,
    NoSuchDay,
    WorkCalendar,
    calendar_of,
    leg_back,
    leg_forward,
    months_later,
    next_open_day,
    previous_open_day,
    repeated,
    walk_back,
    walk_forward,
    working_days_between,
)
from ferrule.model.duration import Duration
from ferrule.model.percent import Percent
from ferrule.model.records.product import Calendar, Closure, Weekday
from ferrule.model.when import iso_week, monday


def day(written: str) -> dt.date:
    return dt.date.fromisoformat(written)


def closure(name: str, from_: str, to: str, capacity: str = "0 %") -> Closure:
    return Closure(name=name, from_=day(from_), to=day(to), capacity=Percent.of(capacity))


def calendar(*closures: Closure, holidays: str = "") -> WorkCalendar:
    return calendar_of(Calendar(name="works", holidays=tuple(map(day, holidays.split())), closures=closures))


def back(where: WorkCalendar, length: str, finish: str, *, open_days: bool = False) -> list[str]:
    walked = leg_back(where, Duration.of(length), day(finish), open_days=open_days)
    return [str(walked.start), str(walked.finish)]


def forward(where: WorkCalendar, length: str, start: str, *, open_days: bool = False) -> list[str]:
    walked = leg_forward(where, Duration.of(length), day(start), open_days=open_days)
    return [str(walked.start), str(walked.finish)]


PLAIN = calendar_of(None)
SHUT = closure("plant shut", "2027-01-25", "2027-02-19")
RAMP_DOWN = closure("ramp-down", "2027-01-18", "2027-01-24", "40 %")
SLOW_RETURN = closure("slow return", "2027-02-20", "2027-02-28", "50 %")


# Fifteen working days that end on Friday 26 February 2027.
# No calendar: the weeks from 8, 15 and 22 February, five days each.
# Shut 25 January to 19 February: 22-26 February 5, then 18-22 January 5, then 11-15 January 5.
# And 40 % in the week before: 22-26 February 5, 18-22 January 5 x 0.4 = 2, 11-15 January 5, so 3 are left:
#   8, 7 and 6 January. Starts on Wednesday 6.
# And 50 % after: 22-26 February 2.5, 18-22 January 2, 11-15 January 5, 4-8 January 5, so 0.5 is left of
#   Friday 1 January, which is a working day in this calendar.
FIFTEEN = [
    ((), "2027-02-08"),
    ((SHUT,), "2027-01-11"),
    ((RAMP_DOWN, SHUT), "2027-01-06"),
    ((RAMP_DOWN, SHUT, SLOW_RETURN), "2027-01-01"),
]


@pytest.mark.parametrize(("closures", "start"), FIFTEEN, ids=["plain", "shut", "ramp-down", "slow return"])
def test_fifteen_working_days_to_the_end_of_february(closures: tuple[Closure, ...], start: str) -> None:
    assert back(calendar(*closures), "15 working days", "2027-02-26") == [start, "2027-02-26"]


def test_a_walk_says_what_it_crossed_and_what_that_took() -> None:
    # shut: 4 weeks of 5 working days; ramp-down: 5 x 0.6; slow return: 22-26 February, 5 x 0.5 (the 20th, 21st,
    # 27th and 28th are weekend). 41 weekdays from 1 January = 20 + 3 + 2.5 + the 15.5 capacity-days used.
    walked = leg_back(
        calendar(RAMP_DOWN, SHUT, SLOW_RETURN), Duration.of("15 working days"), day("2027-02-26")
    )
    assert [(found.closure.name, found.lost) for found in walked.crossed] == [
        ("ramp-down", 3),
        ("plant shut", 20),
        ("slow return", Fraction(5, 2)),
    ]


def test_closures_ignored_keep_the_weekends() -> None:
    record = Calendar(weekend=("friday", "saturday"), closures=(SHUT,), holidays=(day("2027-02-24"),))
    ignored = calendar_of(record, [day("2027-02-23")], closures=False)
    # Thursday 25, 24, 23, 22, Sunday 21; Friday 26 February is weekend here
    assert back(ignored, "5 working days", "2027-02-26") == ["2027-02-21", "2027-02-25"]
    # with them: 25, 22, 21 February, then 24 January (Sunday) and Thursday 21
    assert back(calendar_of(record, [day("2027-02-23")]), "5 working days", "2027-02-26") == [
        "2027-01-21",
        "2027-02-25",
    ]


def test_capacity_of_a_day() -> None:
    works = calendar(
        closure("slow", "2027-03-01", "2027-03-14", "40 %"),
        closure("slower", "2027-03-08", "2027-03-09", "25 %"),
        closure("overtime", "2027-03-15", "2027-03-19", "120 %"),
        holidays="2027-03-02 2027-03-22",
    )
    days = "03-01 03-02 03-06 03-08 03-10 03-15 03-20 03-22 03-23"
    # slow; holiday; Saturday; the lower of two; slow again; never over a full day; Saturday; holiday; full
    expected = ["2/5", "0", "0", "1/4", "2/5", "1", "0", "0", "1"]
    assert [str(works.capacity(day(f"2027-{short}"))) for short in days.split()] == expected
    assert [short for short in days.split() if not works.is_open(day(f"2027-{short}"))] == [
        "03-02",
        "03-06",
        "03-20",
        "03-22",
    ]


def test_public_holidays_close_a_day() -> None:
    assert calendar_of(Calendar(), [day("2027-03-29")]).capacity(day("2027-03-29")) == 0
    assert calendar_of(None, [day("2027-03-29")]).capacity(day("2027-03-29")) == 0


EASTER = calendar(holidays="2027-03-26 2027-03-29")

# Monday 29 and Friday 26 March 2027 are holidays.
LEGS_BACK = [
    # calendar days: n days that finish on F start on F - (n - 1), whatever days they are
    ("5 days", "2027-03-29", ["2027-03-25", "2027-03-29"]),
    ("1 day", "2027-03-28", ["2027-03-28", "2027-03-28"]),
    ("2 weeks", "2027-03-28", ["2027-03-15", "2027-03-28"]),
    # 0.5 weeks = 3.5 days, rounded up to 4
    ("0.5 weeks", "2027-03-28", ["2027-03-25", "2027-03-28"]),
    # working days move a finish on a closed day to the last open one: Thursday 25
    ("1 working day", "2027-03-29", ["2027-03-25", "2027-03-25"]),
    ("2 working days", "2027-03-28", ["2027-03-24", "2027-03-25"]),
    # Tuesday 30, then over Easter to Thursday 25
    ("2 working days", "2027-03-30", ["2027-03-25", "2027-03-30"]),
    # months: the day after the finish, a month earlier
    ("1 month", "2027-02-28", ["2027-02-01", "2027-02-28"]),
    ("1 month", "2027-03-14", ["2027-02-15", "2027-03-14"]),
    # 31 March less a month is 28 February, the last day there is
    ("1 month", "2027-03-30", ["2027-02-28", "2027-03-30"]),
    # 29 February 2028 less a year is 28 February 2027
    ("1 year", "2028-02-28", ["2027-02-28", "2028-02-28"]),
    # 1 April less half a month (15 days) is 17 March, less a month is 17 February
    ("1.5 months", "2027-03-31", ["2027-02-17", "2027-03-31"]),
    ("1.5 years", "2027-03-31", ["2025-10-01", "2027-03-31"]),
    # 0.3 years = 3.6 months: 1 April less 18 days is 14 March, less 3 months is 14 December
    ("0.3 years", "2027-03-31", ["2026-12-14", "2027-03-31"]),
    # 0.99 of a month would be 30 days; from 1 March back a whole month is only 28
    ("0.99 months", "2027-02-28", ["2027-02-01", "2027-02-28"]),
    # nothing starts the day after it finishes, and moves nothing
    ("0 days", "2027-03-29", ["2027-03-30", "2027-03-29"]),
    ("0 months", "2027-03-29", ["2027-03-30", "2027-03-29"]),
    ("0 working days", "2027-03-29", ["2027-03-30", "2027-03-29"]),
]


@pytest.mark.parametrize(("length", "finish", "lies"), LEGS_BACK)
def test_one_leg_back(length: str, finish: str, lies: list[str]) -> None:
    assert back(EASTER, length, finish) == lies


LEGS_FORWARD = [
    ("5 days", "2027-03-26", ["2027-03-26", "2027-03-30"]),
    ("0.5 weeks", "2027-03-26", ["2027-03-26", "2027-03-29"]),
    # a working-day leg waits for an open day: Tuesday 30
    ("1 working day", "2027-03-26", ["2027-03-30", "2027-03-30"]),
    # Thursday 25, then over Easter to Tuesday 30
    ("2 working days", "2027-03-25", ["2027-03-25", "2027-03-30"]),
    ("1 month", "2027-02-01", ["2027-02-01", "2027-02-28"]),
    # 31 January and a month is 28 February, so the last whole day is the 27th
    ("1 month", "2027-01-31", ["2027-01-31", "2027-02-27"]),
    ("1 year", "2028-02-29", ["2028-02-29", "2029-02-27"]),
    ("1.5 months", "2027-02-01", ["2027-02-01", "2027-03-15"]),
    # the other way round: 14 December and 3 months is 14 March, and 18 days is 1 April
    ("0.3 years", "2026-12-14", ["2026-12-14", "2027-03-31"]),
    ("0.99 months", "2027-02-01", ["2027-02-01", "2027-02-28"]),
    ("0 days", "2027-03-29", ["2027-03-29", "2027-03-28"]),
    ("0 months", "2027-03-29", ["2027-03-29", "2027-03-28"]),
    ("0 working days", "2027-03-29", ["2027-03-29", "2027-03-28"]),
]


@pytest.mark.parametrize(("length", "start", "lies"), LEGS_FORWARD)
def test_one_leg_forward(length: str, start: str, lies: list[str]) -> None:
    assert forward(EASTER, length, start) == lies


def test_delivery_on_open_days_moves_the_finish() -> None:
    # back from Monday 29 March, a holiday: Thursday 25, so five days start on Sunday 21
    assert back(EASTER, "5 days", "2027-03-29", open_days=True) == ["2027-03-21", "2027-03-25"]
    # forward from Monday 22: Friday 26 is a holiday, so Tuesday 30; the start stays
    assert forward(EASTER, "5 days", "2027-03-22", open_days=True) == ["2027-03-22", "2027-03-30"]
    # an event of no length wants an open day too
    assert back(EASTER, "0 days", "2027-03-29", open_days=True) == ["2027-03-26", "2027-03-25"]
    assert forward(EASTER, "0 days", "2027-03-29", open_days=True) == ["2027-03-31", "2027-03-30"]


def test_a_shift_counts_calendar_days_in_the_direction_of_the_walk() -> None:
    three = Duration.of("3 working days")
    moved = leg_back(EASTER, three, day("2027-03-29"))
    assert (moved.shifted, moved.holidays) == (4, (day("2027-03-26"), day("2027-03-29")))
    assert leg_forward(EASTER, three, day("2027-03-27")).shifted == 3  # to Tuesday 30
    assert leg_forward(EASTER, Duration.of("5 days"), day("2027-03-22"), open_days=True).shifted == 4
    # an event on the eve of Tuesday 30, Monday the 29th, moves to that Tuesday because of the holiday
    event = leg_forward(EASTER, Duration.of("0 days"), day("2027-03-30"), open_days=True)
    assert (event.finish, event.shifted, event.holidays) == (day("2027-03-30"), 1, (day("2027-03-29"),))
    assert leg_back(EASTER, three, day("2027-03-25")).shifted == 0
    assert leg_back(EASTER, Duration.of("3 days"), day("2027-03-29")).shifted == 0


def test_a_day_off_inside_a_closure_is_counted_once() -> None:
    # 1 to 5 March at 40 %, the 2nd a holiday: four days lose 0.6 each, and the holiday is told apart
    slow = calendar(closure("slow", "2027-03-01", "2027-03-05", "40 %"), holidays="2027-03-02 2027-03-06")
    walked = leg_back(slow, Duration.of("2 working days"), day("2027-03-08"))
    # Monday 8: 1; 5, 4 and 3 March: 0.4 each
    assert (walked.start, walked.holidays) == (day("2027-03-03"), ())
    assert [found.lost for found in walked.crossed] == [Fraction(9, 5)]
    longer = leg_back(slow, Duration.of("3 working days"), day("2027-03-08"))
    # 8 March 1, 5, 4, 3 and 1 March 1.6, 26 February 1: over 3
    assert (longer.start, longer.holidays) == (day("2027-02-26"), (day("2027-03-02"),))
    assert [found.lost for found in longer.crossed] == [Fraction(12, 5)]
    # wholly shut anyway: the holiday takes nothing
    shut = calendar(closure("shut", "2027-03-01", "2027-03-05"), holidays="2027-03-02")
    walked = leg_back(shut, Duration.of("2 working days"), day("2027-03-08"))
    assert walked.holidays == ()
    assert [found.lost for found in walked.crossed] == [5]


def test_overlapping_closures_take_each_day_once() -> None:
    both = calendar(
        closure("slow", "2027-03-01", "2027-03-05", "40 %"),
        closure("shut", "2027-03-03", "2027-03-04"),
        closure("no less", "2027-03-01", "2027-03-05", "100 %"),
    )
    walked = leg_back(both, Duration.of("2 working days"), day("2027-03-08"))
    # 8 March 1, 5 March 0.4, 2 March 0.4, 1 March 0.4
    assert (walked.start, walked.finish) == (day("2027-03-01"), day("2027-03-08"))
    assert [(found.closure.name, found.lost) for found in walked.crossed] == [
        ("slow", Fraction(9, 5)),
        ("shut", 2),
    ]


def test_days_in_transit_run_through_a_closure_and_say_so() -> None:
    walked = leg_back(calendar(SHUT), Duration.of("30 days"), day("2027-02-10"))
    assert walked.start == day("2027-01-12")
    # 25 January to 10 February: 13 weekdays the calendar was closed meanwhile
    assert [found.lost for found in walked.crossed] == [13]


def test_a_closure_only_touched_by_a_weekend_is_not_crossed() -> None:
    weekend = calendar(closure("stocktaking", "2027-03-06", "2027-03-07"))
    assert leg_back(weekend, Duration.of("2 working days"), day("2027-03-08")).crossed == ()


# The example's sea lane, all legs at their worst, to arrive on Friday 28 May 2027. "Wexmouth" has no day off in May.
#   delivery appointment  2 working days, Wexmouth  Thu 27 May, Fri 28 May
#   customs               3 working days, Wexmouth  Mon 24, Tue 25, Wed 26 May
#   sea carriage         32 days                    Sun 23 May less 31 days = Thu 22 April
#   port cut-off          5 days                    Wed 21 April less 4 = Sat 17 April
#   export formalities    4 working days, works     Tue 13, Wed 14, Thu 15, Fri 16 April
WEXMOUTH = calendar(holidays="2026-12-25 2026-12-26 2027-01-01 2027-03-26 2027-03-29")
HALDEN = calendar(RAMP_DOWN, SHUT, SLOW_RETURN, holidays="2027-04-30")


def sea_lane() -> list[LegTime]:
    legs = [
        ("export formalities", HALDEN, "4 working days"),
        ("port cut-off", PLAIN, "5 days"),
        ("sea carriage", PLAIN, "32 days"),
        ("customs", WEXMOUTH, "3 working days"),
        ("delivery appointment", WEXMOUTH, "2 working days"),
    ]
    return [
        LegTime(
            name=name, calendar=where, duration=Duration.of(length), open_days=name.startswith("delivery")
        )
        for name, where, length in legs
    ]


def dates(legs: list[LegTime], due: str) -> list[tuple[str, str]]:
    walked = [stretch.walked for stretch in walk_back(legs, day(due)).stretches]
    return [(leg.start.isoformat(), leg.finish.isoformat()) for leg in walked if leg]


def test_sea_lane_of_the_example_to_the_end_of_may() -> None:
    assert dates(sea_lane(), "2027-05-28") == [
        ("2027-04-13", "2027-04-16"),
        ("2027-04-17", "2027-04-21"),
        ("2027-04-22", "2027-05-23"),
        ("2027-05-24", "2027-05-26"),
        ("2027-05-27", "2027-05-28"),
    ]
    chain = walk_back(sea_lane(), day("2027-05-28"))
    assert (chain.start, chain.finish, chain.at_least) == (day("2027-04-13"), day("2027-05-28"), False)
    there = walk_forward(sea_lane(), day("2027-04-13"))
    assert there == chain  # nothing was shifted, so forward is the same


# The same to Wednesday 31 March: Easter Monday and Good Friday hold up customs, and the new year the works.
#   delivery appointment  Tue 30, Wed 31 March
#   customs               Mon 29 and Fri 26 are off: Tue 23, Wed 24, Thu 25 March
#   sea carriage          Mon 22 March less 31 days = Fri 19 February
#   port cut-off          Thu 18 February less 4 = Sun 14 February
#   export formalities    Sat 13 February is in the closure: last open day Fri 22 January, at 40 %. 18-22 January
#                         give 2.0 of 4; Fri 15 and Thu 14 January the rest
def test_sea_lane_of_the_example_over_the_new_year() -> None:
    assert dates(sea_lane(), "2027-03-31") == [
        ("2027-01-14", "2027-01-22"),
        ("2027-02-14", "2027-02-18"),
        ("2027-02-19", "2027-03-22"),
        ("2027-03-23", "2027-03-25"),
        ("2027-03-30", "2027-03-31"),
    ]
    walked = walk_back(sea_lane(), day("2027-03-31")).stretches[0].walked
    assert walked is not None
    assert walked.shifted == 22  # 13 February to 22 January
    # shut: 25 January to 13 February, 15 weekdays, for it is those that moved the finish
    assert [(found.closure.name, found.lost) for found in walked.crossed] == [
        ("ramp-down", Fraction(3)),
        ("plant shut", Fraction(15)),
    ]
    # forward from that start: 14, 15 January 2 and 18-22 January 2.0; cut-off 23-27 January; at sea 28 January to
    # 28 February; customs 1, 2, 3 March; delivery 4, 5 March. The last boat before the closure is that early
    there = walk_forward(sea_lane(), day("2027-01-14"))
    assert (there.start, there.finish) == (day("2027-01-14"), day("2027-03-05"))


def test_an_unknown_leg_makes_what_lies_beyond_a_bound() -> None:
    legs = sea_lane()
    legs[2] = LegTime(name="sea carriage", calendar=PLAIN, duration=None)
    chain = walk_back(legs, day("2027-05-28"))
    assert [stretch.at_least for stretch in chain.stretches] == [True, True, False, False, False]
    assert chain.stretches[2].walked is None
    # as if the sea took no time: cut-off to Sunday 23 May, from the 19th; formalities 13, 14, 17, 18 May
    assert (chain.start, chain.finish, chain.at_least) == (day("2027-05-13"), day("2027-05-28"), True)
    there = walk_forward(legs, day("2027-05-13"))
    assert [stretch.at_least for stretch in there.stretches] == [False, False, False, True, True]
    assert (there.start, there.finish, there.at_least) == (day("2027-05-13"), day("2027-05-28"), True)


def test_an_unknown_leg_at_the_near_end_keeps_the_asked_day() -> None:
    unknown = LegTime(name="lead time", calendar=PLAIN, duration=None)
    week = LegTime(name="inspection", calendar=PLAIN, duration=Duration.of("1 week"))
    chain = walk_back([week, unknown], day("2027-05-28"))
    assert (chain.start, chain.finish, chain.at_least) == (day("2027-05-22"), day("2027-05-28"), True)
    chain = walk_forward([unknown, week], day("2027-05-22"))
    assert (chain.start, chain.finish, chain.at_least) == (day("2027-05-22"), day("2027-05-28"), True)


def test_runs_multiply_a_leg_before_anything_is_rounded() -> None:
    assert repeated(Duration.of("0.5 weeks"), 3) == Duration(Decimal("1.5"), "weeks")
    sampling = LegTime(name="sampling", calendar=PLAIN, duration=Duration.of("0.5 weeks"), loops=3)
    # 10.5 days, so 11: 18 to 28 May; three runs of 4 days would be 12
    assert walk_back([sampling], day("2027-05-28")).start == day("2027-05-18")
    assert walk_forward([sampling], day("2027-05-18")).finish == day("2027-05-28")
    none = LegTime(name="sampling", calendar=PLAIN, duration=Duration.of("2 weeks"), loops=0)
    assert walk_back([none], day("2027-05-28")).start == day("2027-05-29")
    with pytest.raises(ValueError, match="-1 runs of 2 weeks"):
        repeated(Duration.of("2 weeks"), -1)


def test_no_legs_take_no_time() -> None:
    back_, there = walk_back([], day("2027-05-28")), walk_forward([], day("2027-05-29"))
    assert (back_.start, back_.finish) == (day("2027-05-29"), day("2027-05-28"))
    assert back_ == there


def test_nearest_open_days() -> None:
    works = calendar(SHUT, holidays="2027-02-22")
    assert previous_open_day(works, day("2027-02-10")) == day("2027-01-22")
    assert next_open_day(works, day("2027-02-10")) == day("2027-02-23")
    assert previous_open_day(works, day("2027-02-23")) == next_open_day(works, day("2027-02-23"))
    # a day at 40 % is open
    assert previous_open_day(calendar(RAMP_DOWN), day("2027-01-20")) == day("2027-01-20")


def test_slack_in_working_days() -> None:
    # after Thursday 25 March: Tuesday 30 and Wednesday 31
    assert working_days_between(EASTER, day("2027-03-25"), day("2027-03-31")) == 2
    assert working_days_between(EASTER, day("2027-03-31"), day("2027-03-25")) == -2
    assert working_days_between(EASTER, day("2027-03-25"), day("2027-03-25")) == 0
    # 18 to 22 January at 40 %, then shut
    assert working_days_between(HALDEN, day("2027-01-17"), day("2027-02-19")) == 2
    assert working_days_between(HALDEN, day("2027-01-15"), day("2027-01-18")) == Fraction(2, 5)


ALL_WEEK: tuple[Weekday, ...] = (
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
)


def test_a_calendar_that_never_opens_is_an_error() -> None:
    never = calendar_of(Calendar(name="Mothballed", weekend=ALL_WEEK))
    text = "Mothballed has no open day from 2026-01-09 to 2027-01-10"
    with pytest.raises(NoSuchDay, match=text):
        previous_open_day(never, day("2027-01-10"))
    with pytest.raises(NoSuchDay, match="Mothballed has no open day from 2027-01-10 to 2028-01-11"):
        leg_forward(never, Duration.of("1 working day"), day("2027-01-10"))
    with pytest.raises(NoSuchDay, match="the calendar has no open day"):
        leg_back(
            calendar_of(Calendar(weekend=ALL_WEEK)), Duration.of("5 days"), day("2027-01-10"), open_days=True
        )


def test_a_closure_of_a_year_is_walked_and_a_longer_one_is_an_error() -> None:
    # 2028 is a leap year of 366 days; it starts on a Saturday, after Friday 31 December
    year = calendar(closure("refit", "2028-01-01", "2028-12-31"))
    assert previous_open_day(year, day("2028-12-31")) == day("2027-12-31")
    longer = calendar(closure("refit", "2028-01-01", "2029-01-02"))
    with pytest.raises(NoSuchDay, match="works has no open day from 2028-01-02 to 2029-01-02"):
        previous_open_day(longer, day("2029-01-02"))
    # a year of days without any work to do is no trouble, and calendar days pass it
    assert back(longer, "400 days", "2029-01-02") == ["2027-11-30", "2029-01-02"]


def test_lengths_beyond_the_years_there_are() -> None:
    for length in ("100000 years", "100000 months", "100000 weeks", "100000 working days"):
        far = repeated(Duration.of(length), 100)
        with pytest.raises(NoSuchDay, match="beyond the years a date can have"):
            leg_back(PLAIN, far, day("0005-01-01"))
        with pytest.raises(NoSuchDay, match="beyond the years a date can have"):
            leg_forward(PLAIN, far, day("9995-01-01"))
    with pytest.raises(NoSuchDay, match="beyond the years a date can have"):
        leg_back(PLAIN, repeated(Duration.of("1 day"), 10**30), day("2027-01-01"))


def test_months_later() -> None:
    ends = [str(months_later(day("2027-08-31"), count)) for count in (-6, 0, 1, 4, 6, 18)]
    assert ends == ["2027-02-28", "2027-08-31", "2027-09-30", "2027-12-31", "2028-02-29", "2029-02-28"]


def test_weeks_run_on_over_the_new_year() -> None:
    # 2026 has 53 weeks (ISO 8601-1:2019: week 1 holds the first Thursday), and 2027-W01 starts on 4 January
    last = leg_forward(PLAIN, Duration.of("1 week"), monday("2026-W53"))
    assert (str(last.start), str(last.finish), iso_week(last.finish)) == (
        "2026-12-28",
        "2027-01-03",
        "2026-W53",
    )
    two = leg_back(PLAIN, Duration.of("2 weeks"), day("2027-01-10"))
    assert two.start == monday("2026-W53")

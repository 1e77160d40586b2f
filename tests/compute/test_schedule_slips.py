"""What a delay does, worked by hand, and the orders of a week."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from ferrule.compute.schedule import books_of, schedule
from ferrule.compute.slips import cliff, orders_of_week, slip, slips
from ferrule.model.when import iso_week
from schedule_builders import TODAY, assembly, dates_of, day, job_of, part, plan_of

SHUT = """\
[product]
id = "T"
name = "Test"
currency = "EUR"
stage = "dvt"
[calendar.works]
name = "Works"
closures = [{ name = "lunar new year", from = 2027-01-25, to = 2027-02-19 }]
"""
WORKS = '[firm.works]\nname = "Works"\nroles = ["factory"]\ncalendar = "works"\n'


def files(*parts: str, receive_by: str, lead: str = "5 working days") -> dict[str, str]:
    numbers = [text.split("]")[0].removeprefix("[part.") for text in parts]
    return {
        "product.toml": SHUT,
        "firms/works.toml": WORKS,
        "parts/p.toml": "".join(parts),
        "assemblies/top.toml": assembly("TOP", 'factory = "works"', f'lead_time = "{lead}"', lines=numbers),
        "plans/p.toml": plan_of(f"receive_by = {receive_by}"),
    }


#: Built Monday 18 to Friday 22 January, the last day before the works close; P ordered by Monday 4 January.
BEFORE = files(part("P", 'lead_time = "2 weeks"'), part("Q", 'lead_time = "1 week"'), receive_by="2027-01-22")


@pytest.mark.parametrize(
    ("item", "days", "arrival", "moved"),
    [
        ("P", 0, "2027-01-22", 0),
        # Ordered on Tuesday: there on the 18th, built 19 to 22 January and, after four weeks, on 22 February.
        ("P", 1, "2027-02-22", 31),
        ("P", 2, "2027-02-23", 32),
        # Q is ordered by Monday 11 January as well, a week later than P; its slack is gone by then.
        ("Q", 1, "2027-02-22", 31),
        ("b", 1, "2027-02-22", 31),
        # Four days: 22 January, then four days from 22 February.
        ("b", 4, "2027-02-25", 34),
    ],
)
def test_one_day_late_costs_a_month_where_a_closure_waits(
    item: str, days: int, arrival: str, moved: int
) -> None:
    found = slip(dates_of(job_of(BEFORE)), item, days)
    assert found is not None
    assert (str(found.arrival), found.moved, found.bound) == (arrival, moved, False)


def test_the_cliff_is_where_one_day_more_costs_over_a_week() -> None:
    edge = cliff(dates_of(job_of(BEFORE)), "P")
    assert edge is not None
    assert [(each.days, each.moved) for each in edge] == [(0, 0), (1, 31)]
    # A week of room before the closure: built 11 to 15 January, so five days more are all five days.
    early = dates_of(job_of(BEFORE | {"plans/p.toml": plan_of("receive_by = 2027-01-15")}))
    edge = cliff(early, "P")
    assert edge is not None
    # Ordered on 28 December; up to 4 January it still ends on 22 January, on the 5th on 22 February.
    assert [(each.days, str(each.arrival)) for each in edge] == [(7, "2027-01-22"), (8, "2027-02-22")]
    assert cliff(early, "P", within=7) is None


def test_twelve_weeks_missed_by_twelve_weeks_move_the_delivery_by_twelve() -> None:
    """Common practice: what is forgotten until it is due costs its whole lead time.

    Built 21 to 27 June; 84 days to Sunday 20 June begin on Monday 29 March, so that no weekend is to spare.
    """
    dates = dates_of(
        job_of(files(part("P", 'lead_time = "12 weeks"'), receive_by="2027-06-27", lead="1 week"))
    )
    found = slip(dates, "P", 84)
    assert found is not None
    assert found.moved == 84


def test_a_weekend_before_the_seller_s_day_takes_up_a_slip() -> None:
    """Built 21 to 25 June; 15 days to Sunday 20 June begin on Sunday 6 June, so that Friday 4 June is the day.

    Three days later is Monday 7 June: there on the 21st, built 22 to 28 June: three days after the 25th.
    """
    dates = dates_of(job_of(files(part("P", 'lead_time = "15 days"'), receive_by="2027-06-25")))
    found = slips(dates, "P", (0, 1, 3))
    # A day later is Saturday: the seller takes it on Monday, too.
    assert [(str(each.begins), each.moved) for each in found] == [
        ("2027-06-04", 0),
        ("2027-06-07", 3),
        ("2027-06-07", 3),
    ]


def test_a_late_item_slips_from_the_day_it_can_still_be_ordered() -> None:
    dates = dates_of(job_of(BEFORE), day("2027-01-06"))
    found = slip(dates, "P", 1)
    assert found is not None
    # Wednesday 6 January at best, so from the 7th; both arrive after the closure, a day apart.
    assert (found.begins, found.moved) == (day("2027-01-07"), 1)


def test_what_is_begun_slips_from_its_own_day() -> None:
    tool = '[tool.T]\nname = "Mould"\nkind = "mould"\nmakes = ["TOP"]\nlead_time = "2 weeks"\nordered = 2026-11-30\n'
    dates = dates_of(job_of(BEFORE | {"tools/t.toml": tool}))
    # Ready on 13 December, needed by 17 January: 35 days of slack.
    assert [(str(each.begins), each.moved) for each in slips(dates, "T", (35, 36))] == [
        ("2027-01-04", 0),
        ("2027-01-05", 31),
    ]


def test_an_item_that_is_not_there_has_no_slip() -> None:
    dates = dates_of(job_of(BEFORE))
    assert slip(dates, "NONE", 1) is None
    assert slips(dates, "NONE", (1, 2)) == ()
    assert cliff(dates, "NONE") is None


# Orders of a week


def test_orders_of_this_week_and_what_the_next_cannot_wait_for() -> None:
    """Built 18 to 22 January: four weeks begin on 21 December, three on the 28th, two on 4 January, one on the 11th."""
    parts = [part(f"P{weeks}", f'lead_time = "{weeks} weeks"') for weeks in (1, 2, 3, 4)]
    job = job_of(files(*parts, receive_by="2027-01-22"))
    plan = schedule([job], books_of(job.product), TODAY)
    # Sunday 3 January 2027 is in week 53 of 2026.
    week = orders_of_week(plan, day("2027-01-03"))
    assert (week.monday, iso_week(week.monday)) == (day("2026-12-28"), "2026-W53")
    assert [each.item for each in week.overdue] == ["P4"]
    assert [each.item for each in week.due] == ["P3"]
    assert [(each.item, moved.days, moved.moved) for each, moved in week.next] == [("P2", 7, 35)]
    # P2 on 11 January: there on the 24th, built from 22 to 26 February: 35 days after 22 January.


def test_a_weekly_order_stands_once_and_what_is_ordered_stands_nowhere() -> None:
    tool = '[tool.T]\nname = "Mould"\nkind = "mould"\nmakes = ["TOP"]\nlead_time = "2 weeks"\n'
    job = job_of(BEFORE | {"tools/t.toml": tool})
    other = replace(job, build=replace(job.build, name="c"))
    books = books_of(job.product)
    week = orders_of_week(schedule([job, other], books, TODAY), day("2027-01-04"))
    assert [(each.build, each.item) for each in week.due] == [("b", "P"), ("b", "T")]
    ordered = job_of(BEFORE | {"tools/t.toml": tool + "ordered = 2026-11-02\n"})
    week = orders_of_week(schedule([ordered], books, TODAY), day("2027-01-04"))
    assert [each.item for each in week.due] == ["P"]

"""The picture of a plan's dates: worked by hand on a small build, and on the example's first season."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from msgspec.structs import replace

from builders import product
from ferrule.chart.marks import as_marks
from ferrule.compute.buy import Ask, buy
from ferrule.compute.covers import jobs_of
from ferrule.compute.runs import runs_of
from ferrule.compute.schedule import PlanDates, books_of, schedule
from ferrule.report.picture import Closed, Stretch, StripRow
from ferrule.report.schedule_picture import dates_picture
from schedule_builders import assembly, day, job_of, part, plan_of

TODAY = dt.date(2026, 11, 25)
HEAD = """\
[product]
id = "T"
name = "Test"
currency = "EUR"
stage = "dvt"

[calendar.works]
name = "Works"
closures = [
  { name = "lunar new year", from = 2027-01-25, to = 2027-02-19 },
  { name = "the year after", from = 2028-01-17, to = 2028-02-11 },
]
"""
WORKS = '[firm.works]\nname = "Works"\nroles = ["factory", "seller"]\ncalendar = "works"\n'


def small(today: dt.date = TODAY) -> PlanDates:
    """Return a build of two parts that take four weeks, one that takes two, and a day of work, due on 26 February 2027.

    The day of work is the 26th, a Friday; so all must be there on the 25th. Two weeks before that end begin on 12
    February, four weeks on 29 January. `slow` and `twin` are at the works, which are shut until 19 February: 20 working days
    back from 25 February are 4 (22 to 25 February) and 16 more up to Friday 22 January: from 1 January on.
    """
    slow = ('lead_time = "20 working days"', 'seller = "works"')
    files = {
        "product.toml": HEAD,
        "firms/works.toml": WORKS,
        "parts/all.toml": part("slow", *slow) + part("twin", *slow) + part("quick", 'lead_time = "2 weeks"'),
        "assemblies/top.toml": assembly("TOP", 'lead_time = "1 day"', lines=("slow", "twin", "quick")),
        "plans/p.toml": plan_of("receive_by = 2027-02-26"),
    }
    job = job_of(files)
    return schedule([job], books_of(job.product), today)


def waits(first: str, last: str) -> tuple[Stretch, ...]:
    return (Stretch("lead time", day(first), day(last)),)


SLOW = ("2027-01-01", "2027-02-25")


def test_a_row_an_order_then_what_is_made() -> None:
    picture = dates_picture(small())
    assert picture.rows == (
        StripRow("slow, b", waits(*SLOW), day(SLOW[0]), "order by", critical=True),
        StripRow("twin, b", waits(*SLOW), day(SLOW[0]), "order by"),
        StripRow("quick, b", waits("2027-02-12", "2027-02-25"), day("2027-02-12"), "order by"),
        StripRow(
            "TOP, b",
            (Stretch("building", day("2027-02-26"), day("2027-02-26"), "making"),),
            critical=True,
        ),
    )
    # From the Monday of today, a Wednesday, to the day of arrival.
    assert (picture.start, picture.end) == (day("2026-11-23"), day("2027-02-26"))
    assert (picture.today, picture.week_zero, picture.left_out) == (TODAY, day("2026-11-30"), 0)
    # Only closures that are gone through.
    assert picture.closures == (Closed("lunar new year", day("2027-01-25"), day("2027-02-19"), "Works"),)


def test_orders_share_a_row_only_where_there_are_too_many() -> None:
    whole = dates_picture(small(), 4)
    assert [row.name for row in whole.rows] == ["slow, b", "twin, b", "quick, b", "TOP, b"]
    # The one that decides and its twin are not the same strip: one is framed.
    fewer = dates_picture(small(), 3)
    assert [row.name for row in fewer.rows] == ["slow, b", "twin, b", "TOP, b"]
    assert fewer.left_out == 1
    assert [row.name for row in dates_picture(small(), 2).rows] == ["slow, b", "TOP, b"]
    assert [row.name for row in dates_picture(small(), 1).rows] == ["TOP, b"]
    assert dates_picture(small(), 1).left_out == 3


def test_what_is_late_says_so_and_the_axis_begins_there() -> None:
    # On 6 January the slow parts are 5 days late; 1 January 2027 is a Friday, its Monday the 28th.
    picture = dates_picture(small(day("2027-01-06")))
    assert [row.remark for row in picture.rows] == ["late by 5 days", "late by 5 days", "", ""]
    assert picture.start == day("2026-12-28")


def test_an_unknown_length_is_named() -> None:
    files = {
        "parts/all.toml": part("mystery"),
        "assemblies/top.toml": assembly("TOP", 'lead_time = "1 day"', lines=("mystery",)),
        "plans/p.toml": plan_of("receive_by = 2027-02-26"),
    }
    job = job_of(files)
    (row, _) = dates_picture(schedule([job], books_of(job.product), TODAY)).rows
    assert row.remark == "lead time not known"
    assert row.stretches == ()


def test_no_builds() -> None:
    picture = dates_picture(PlanDates(today=TODAY, builds=(), orders=()))
    assert picture.rows == ()
    assert "nothing to show" in list(as_marks(picture, 80))


@pytest.fixture(scope="module")
def season() -> PlanDates:
    root = Path(__file__).parents[2] / "example-product"
    folders = ("parts", "assemblies", "firms", "tools", "plans", "counts")
    paths = [root / "product.toml", *(path for name in folders for path in root.glob(f"{name}/*.toml"))]
    made = product({str(path.relative_to(root)): path.read_bytes() for path in paths})
    plan = made.plans["first-season"]
    bought = buy(made, runs_of(made, plan), Ask(today=TODAY))
    return schedule(jobs_of(made, plan, bought), books_of(made), TODAY)


def test_the_season_in_forty_rows(season: PlanDates) -> None:
    picture = dates_picture(season)
    assert len(picture.rows) == 40
    names = [row.name for row in picture.rows]
    assert len(set(names)) == 40
    # Every assembly and way home of every build is there, and the order that decides each build.
    made = [row for row in picture.rows if row.tick is None]
    assert len(made) == sum(len(build.network.runs) + 1 for build in season.builds)
    for build in season.builds:
        assert f"way home, {build.build}" in names
        deciding = {f"{order.item}, {order.build}" for order in build.orders if order.critical}
        assert deciding <= set(names)


def test_what_shares_a_row_has_the_very_same_strip(season: PlanDates) -> None:
    picture, everything = dates_picture(season), dates_picture(season, 10_000)
    alone = {row.name: row for row in everything.rows}
    assert everything.left_out == 0
    assert len(everything.rows) == len(season.orders) + sum(row.tick is None for row in picture.rows)
    joined = [row for row in picture.rows if row.more]
    assert joined
    for row in joined:
        item, _, build = row.name.rpartition(", ")
        first = alone[f"{item.partition(' +')[0]}, {build}"]
        assert f"{item.partition(' +')[0]} +{len(row.more)}" == item
        for name in row.more:
            assert replace(alone[name], name=row.name, more=row.more) == row
            assert name.endswith(f", {build}")
        assert replace(first, name=row.name, more=row.more) == row
    # What is left out is every further strip that differs, with its build.
    strips = {
        (row.name.rpartition(", ")[2], replace(row, name=""))
        for row in everything.rows
        if row.tick is not None
    }
    assert picture.left_out == len(strips) - sum(row.tick is not None for row in picture.rows)


def test_the_most_pressing_are_on_top(season: PlanDates) -> None:
    rows = [row for row in dates_picture(season, 10_000).rows if row.tick is not None]
    assert [row.name for row in rows] == [f"{order.item}, {order.build}" for order in season.orders]
    by_name = {row.name: row for row in rows}
    for order in season.orders:
        row = by_name[f"{order.item}, {order.build}"]
        assert row.tick == (order.order.ordered or order.order_by)
        assert row.label == ("order by" if order.order.ordered is None else "ordered")


def test_a_chain_of_the_season(season: PlanDates) -> None:
    # Worked by hand in the tests of its dates: inspection 9 and 12 April, formalities from the 13th, at sea 22 April to
    # 23 May, at the customer's on 28 May 2027.
    rows = {row.name: row for row in dates_picture(season, 10_000).rows}
    home = rows["way home, spring"]
    assert home.stretches[0] == Stretch(
        "inspection before shipment", day("2027-04-09"), day("2027-04-12"), "inspection"
    )
    assert [each.kind for each in home.stretches[1:]] == ["shipping"] * 5
    assert home.stretches[1].start == day("2027-04-13")
    assert home.stretches[-1].finish == day("2027-05-28")
    assert rows["MIC-MEMS, spring"].stretches[-1].kind == "inspection"
    assert {each.kind for each in rows["W20-500, spring"].stretches} == {"making"}


def test_closures_are_named_once(season: PlanDates) -> None:
    picture = dates_picture(season)
    named = [(closed.name, closed.calendar) for closed in picture.closures]
    assert named == [
        ("ramp-down before the new year", "Port Halden works"),
        ("lunar new year", "Port Halden works"),
        ("slow return", "Port Halden works"),
    ]


@pytest.mark.parametrize("columns", [80, 160])
def test_the_season_takes_one_line_a_row(season: PlanDates, columns: int) -> None:
    picture = dates_picture(season)
    found = list(as_marks(picture, columns))
    first = next(number for number, line in enumerate(found) if line.startswith(picture.rows[0].name))
    drawn = found[first : first + 40]
    assert [line[: len(row.name)] for line, row in zip(drawn, picture.rows, strict=True)] == [
        row.name for row in picture.rows
    ]
    assert found[first + 40] == ""
    for line, row in zip(drawn, picture.rows, strict=True):
        assert row.tick is None or f"{row.label} {row.tick}" in line

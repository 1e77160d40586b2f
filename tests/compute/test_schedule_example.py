"""The example's first season, worked by hand along the chain and for items in four calendars.

The spring build of 1,200 must be received by Friday 28 May 2027. The Port Halden works have 40 % from 18 to 24
January, are shut from 25 January to 19 February, and have 50 % from 20 to 28 February. Backward on worst times:

* delivery appointment, 2 working days at Wexmouth: 27 and 28 May; customs, 3 working days: 24 to 26 May;
* at sea, 32 days: 22 April to 23 May; port cut-off, 5 days: 17 to 21 April; export formalities, 4 working days of
  the factory: 13 to 16 April. It ships on Tuesday 13 April.
* Inspection, 2 working days: 9 and 12 April.
* Packing 1 day, and 1,200 at the factory's 2,000 a week are 3 days, so 2 more: 6 to 8 April.
* Recorders: 0.99 x (0.985 + 0.015 x 0.6 x 0.95) = 0.98361 good, so 1,220 start; 740 behind the batch of 480 at 2,000
  a week are 1.9 days, so 2: 2 and 5 April; test 31 March and 1 April; assembly 26, 29 and 30 March.
* Main boards: 1,220 / 0.98320, so 1,241 start; 741 behind the batch of 500 at 2,500 a week are 1.5 days, so 2: 24 and 25
  March; coating 23, programming and test 22, place and solder 18 and 19 March.

So what is soldered must be there on Wednesday 17 March, and incoming inspection takes 15 to 17 March before that.
"""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from pathlib import Path

import pytest

from builders import product
from ferrule.compute.activities import Job
from ferrule.compute.buy import Ask, buy
from ferrule.compute.covers import chosen_of, covers_of, jobs_of
from ferrule.compute.runs import runs_of
from ferrule.compute.schedule import BuildDates, OrderDates, PlanDates, books_of, schedule
from ferrule.compute.slips import slip
from ferrule.model.product import Product
from schedule_builders import day

TODAY = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def example() -> Product:
    root = Path(__file__).parents[2] / "example-product"
    folders = ("parts", "assemblies", "firms", "tools", "plans", "counts")
    files = {
        str(path.relative_to(root)): path.read_bytes()
        for name in folders
        for path in root.glob(f"{name}/*.toml")
    }
    return product(files | {"product.toml": (root / "product.toml").read_bytes()})


@pytest.fixture(scope="module")
def jobs(example: Product) -> tuple[Job, ...]:
    plan = example.plans["first-season"]
    return jobs_of(example, plan, buy(example, runs_of(example, plan), Ask(today=TODAY)))


@pytest.fixture(scope="module")
def season(example: Product, jobs: tuple[Job, ...]) -> PlanDates:
    return schedule(jobs, books_of(example), TODAY)


@pytest.fixture(scope="module")
def spring(season: PlanDates) -> BuildDates:
    return season.builds[0]


def order(dates: BuildDates, item: str) -> OrderDates:
    found = dates.order(item)
    assert found is not None
    return found


def legs(dates: BuildDates, item: str) -> list[tuple[str, str, str]]:
    return [
        (strip.name, str(strip.lies.start), str(strip.lies.finish))
        for strip in dates.strips
        if strip.item == item
    ]


def test_the_chain_from_the_boards_to_the_warehouse(spring: BuildDates) -> None:
    chain = [leg for item in ("W20-210", "W20-500", "W20-SINGLE", "spring") for leg in legs(spring, item)]
    assert chain == [
        ("place and solder", "2027-03-18", "2027-03-19"),
        ("programming and test", "2027-03-22", "2027-03-22"),
        ("coating", "2027-03-23", "2027-03-23"),
        ("rest of the run at 2500 a week", "2027-03-24", "2027-03-25"),
        ("final assembly", "2027-03-26", "2027-03-30"),
        ("seal and sound test", "2027-03-31", "2027-04-01"),
        ("rest of the run at 2000 a week", "2027-04-02", "2027-04-05"),
        ("pack", "2027-04-06", "2027-04-06"),
        ("rest of the run at 2000 a week", "2027-04-07", "2027-04-08"),
        ("inspection before shipment", "2027-04-09", "2027-04-12"),
        ("export formalities", "2027-04-13", "2027-04-16"),
        ("port cut-off", "2027-04-17", "2027-04-21"),
        ("sea carriage", "2027-04-22", "2027-05-23"),
        ("customs", "2027-05-24", "2027-05-26"),
        ("delivery appointment", "2027-05-27", "2027-05-28"),
    ]
    assert spring.ships == day("2027-04-13")


def test_a_bare_board_in_legs_goes_through_the_closure(spring: BuildDates) -> None:
    """Lorry, 4 days: 11 to 14 March. Etching, 14 working days to 10 March: 8 in March, 22-26 February 2.5, 18-22
    January 2, so 1.5 are left, 14 and 15 January. Films, 5 days: 7 to 13 January.

    On paper etching starts on 19 February and films on the 12th: 36 days too late.
    """
    board = order(spring, "W20-211")
    assert legs(spring, "W20-211") == [
        ("tooling and film", "2027-01-07", "2027-01-13"),
        ("etch, plate and test", "2027-01-14", "2027-03-10"),
        ("lorry to the port works", "2027-03-11", "2027-03-14"),
        ("incoming inspection", "2027-03-15", "2027-03-17"),
    ]
    assert (board.latest, board.order_by) == (day("2027-01-07"), day("2027-01-07"))
    assert (board.paper, board.paper_late) == (day("2027-02-12"), 36)
    etched = spring.strips[board.chain[1]]
    # Ramp-down 5 x 60 %, closure 20 days, slow return 5 x 50 %.
    assert [each.lost for each in etched.crossed] == [Fraction(3), Fraction(20), Fraction(5, 2)]
    assert board.slack == (day("2027-01-07") - TODAY).days


def test_a_chip_counts_in_weeks_and_is_ordered_on_the_seller_s_day(spring: BuildDates) -> None:
    """Ten weeks to Sunday 14 March begin on Monday 4 January, an open day of the seller's own calendar."""
    chip = order(spring, "U-CHARGER")
    assert (chip.latest, chip.order_by, chip.need) == (
        day("2027-01-04"),
        day("2027-01-04"),
        day("2027-03-17"),
    )
    assert (chip.paper_late, chip.bound) == (0, False)


def test_a_strap_is_needed_at_packing_not_at_the_first_board(spring: BuildDates) -> None:
    """Packing begins on 6 April: incoming 1, 2 and 5 April, four weeks to 31 March begin on Thursday 4 March."""
    strap = order(spring, "STRAP-WEB")
    assert (strap.order.seller, strap.latest, strap.need) == ("mirefen", day("2027-03-04"), day("2027-04-05"))


def test_housings_wait_for_the_mould(spring: BuildDates) -> None:
    """Inserts go in on 25 March, incoming 22 to 24 March, fifteen working days to Friday 19 March: from the 1st.

    So the mould must be approved by Sunday 28 February: 5 days of approval at Wexmouth, 22 to 26 February; then
    correction, samples and steel in a calendar that was shut. It was ordered on 25 September.
    """
    assert order(spring, "W20-110").latest == day("2027-03-01")
    mould = order(spring, "T-001")
    assert legs(spring, "T-001")[-1] == ("approval", "2027-02-22", "2027-02-26")
    assert (mould.planned, mould.need) == (day("2026-09-25"), day("2027-02-28"))
    # 73 working days without a calendar, 33 days later than with one.
    assert mould.paper_late == 33


def test_what_is_on_order_comes_on_its_day_and_is_ordered_anew_for_the_summer(
    example: Product, season: PlanDates, spring: BuildDates
) -> None:
    """The processor is promised for 23 February and must be received by 14 March: 19 days."""
    chip = order(spring, "U-MCU")
    assert (chip.order.ordered, chip.slack) == (day("2026-09-08"), 19)
    assert spring.critical is not None
    assert spring.critical.items == ("U-MCU", "W20-210", "W20-500", "W20-SINGLE", "spring")
    summer = order(season.builds[2], "U-MCU")
    # Summer boards are soldered on 9 August: incoming 4 to 6 August, inbound 30 July to 3 August, and the 25 weeks
    # last seen (24 are stated) begin on Friday 5 February.
    assert legs(season.builds[2], "U-MCU")[0] == ("lead time as last seen", "2027-02-05", "2027-07-29")
    assert (summer.order_by, summer.order.source) == (day("2027-02-05"), 0)
    (quick,) = summer.faster
    # 16 weeks from 25 November end on 16 March, inbound on the 21st, incoming on the 24th.
    assert (quick.there, quick.in_time, quick.valid) == (day("2027-03-24"), True, True)
    assert example.orders[0].id in legs(spring, "U-MCU")[0][0]


def test_a_slip_beyond_the_closure(spring: BuildDates) -> None:
    """A day late, the bare board moves the arrival by five: the weekend and the delivery day are in the way."""
    found = slip(spring, "W20-211", 1)
    assert found is not None
    assert (found.begins, found.moved) == (day("2027-01-08"), 5)


def test_every_length_is_stated(spring: BuildDates) -> None:
    assert spring.unknown == ()
    assert not any(each.bound or each.ready_bound for each in spring.orders)
    assert not spring.earliest_bound


def test_covers_and_sources_come_from_the_purchase_list(example: Product) -> None:
    plan = example.plans["first-season"]
    bought = buy(example, runs_of(example, plan), Ask(today=TODAY))
    covers = covers_of(example, bought)
    assert covers["spring"]["U-MCU"].due == day("2027-02-23")
    assert "U-MCU" not in covers["summer"]
    assert chosen_of(bought)["STRAP-WEB"] == (0,)


COUNTED = """\
[[stock]]
part = "P"
place = "us"
qty = 60
counted = 2026-11-16
[[order]]
id = "PO-2"
part = "P"
seller = "s"
qty = 30
due = 2027-03-01
[[order]]
id = "PO-1"
part = "P"
seller = "s"
qty = 50
due = 2027-02-01
ordered = 2026-11-02
"""
BUILDS = "".join(
    f'[[build]]\nname = "{name}"\nsku = "TOP"\nqty = 50\nship = {ship}\n'
    for name, ship in (
        ("one", "2027-02-08"),
        ("two", "2027-04-05"),
        ("three", "2027-05-03"),
        ("four", "2027-06-07"),
    )
)


def test_stock_serves_first_then_receipts_by_their_day() -> None:
    """60 in stock serve one in full; two needs 40 of the 50 of February, three the rest and March's, four is short."""
    made = product(
        {
            "firms/s.toml": '[firm.s]\nname = "S"\n[firm.us]\nname = "Us"\nroles = ["us"]\n',
            "parts/p.toml": '[part.P]\n[[part.P.source]]\nseller = "s"\nlead_time = "1 week"\nmoq = 1\n',
            "assemblies/top.toml": '[assembly]\nid = "TOP"\nlead_time = "1 day"\n[[line]]\nitem = 1\npart = "P"\nqty = 1\n',
            "counts/c.toml": COUNTED.replace("qty = 30", "qty = 40"),
            "plans/p.toml": f'[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 60"\n{BUILDS}',
        }
    )
    bought = buy(made, runs_of(made, made.plans["p"]), Ask(today=TODAY))
    found = {
        name: {part: cover.order for part, cover in each.items()}
        for name, each in covers_of(made, bought).items()
    }
    assert found == {"one": {"P": ""}, "two": {"P": "PO-1"}, "three": {"P": "PO-2"}, "four": {}}
    assert [job.build.name for job in jobs_of(made, made.plans["p"], bought)] == [
        "one",
        "two",
        "three",
        "four",
    ]


def test_a_part_two_buyers_need_is_covered_only_if_both_are() -> None:
    """We hold what we send; the factory holds none of what it buys itself."""
    line = '[[line]]\nitem = {}\npart = "P"\nqty = 1\nsupply = "{}"\n'
    files = {
        "firms/s.toml": '[firm.s]\nname = "S"\n[firm.us]\nname = "Us"\nroles = ["us"]\n[firm.f]\nname = "F"\n',
        "parts/p.toml": '[part.P]\n[[part.P.source]]\nseller = "s"\nlead_time = "1 week"\nmoq = 1\n',
        "assemblies/top.toml": '[assembly]\nid = "TOP"\nfactory = "f"\nlead_time = "1 day"\n'
        + line.format(1, "consigned")
        + line.format(2, "turnkey"),
        "plans/p.toml": f'[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 60"\n{BUILDS}',
    }
    stock = '[[stock]]\npart = "P"\nplace = "{}"\nqty = 500\ncounted = 2026-11-16\n'

    def covered(*places: str) -> list[str]:
        made = product(files | {"counts/c.toml": "".join(map(stock.format, places))})
        bought = buy(made, runs_of(made, made.plans["p"]), Ask(today=TODAY))
        return [name for name, each in covers_of(made, bought).items() if each]

    assert covered("us") == covered("f") == []
    assert covered("us", "f") == ["one", "two", "three", "four"]

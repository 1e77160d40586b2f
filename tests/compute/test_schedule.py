"""Hand-worked dates of one build. 1 January 2027 is a Friday; 1 February and 1 March 2027 are Mondays."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest
from msgspec.structs import replace

from builders import product
from ferrule.compute.activities import Cover, Job
from ferrule.compute.demand import demand_of
from ferrule.compute.leads import lead_days, order_by, preferred
from ferrule.compute.owners import Owners, book_of, customer_of
from ferrule.compute.placement import places_of
from ferrule.compute.running import run_legs
from ferrule.compute.schedule import BuildDates, OrderDates, books_of, build_days, latest_kickoff, schedule
from ferrule.model.number import Count
from ferrule.model.product import Product
from ferrule.model.records.common import Leg
from schedule_builders import DOOR, assembly, dates_of, day, job_of, part, plan_of

HEAD = """\
[product]
id = "T"
name = "Test"
currency = "EUR"
stage = "dvt"
"""
#: Shut for the lunar new year, four weeks.
SHUT = (
    HEAD
    + """\
[calendar.works]
name = "Works"
closures = [{ name = "lunar new year", from = 2027-01-25, to = 2027-02-19 }]
"""
)
WORKS = '[firm.works]\nname = "Works"\nroles = ["factory", "seller"]\ncalendar = "works"\n'


def order(dates: BuildDates, item: str) -> OrderDates:
    found = dates.order(item)
    assert found is not None
    return found


def legs(dates: BuildDates, item: str) -> list[tuple[str, str, str]]:
    """Return the latest dates of an item's own legs."""
    return [
        (strip.name, str(strip.lies.start), str(strip.lies.finish))
        for strip in dates.strips
        if strip.item == item
    ]


# The calendar of the owner


def fifteen(head: str) -> Job:
    """Return a part of fifteen working days that must be there by Friday 26 February 2027."""
    return job_of(
        {
            "product.toml": head,
            "firms/works.toml": WORKS,
            "parts/p.toml": part("P", 'seller = "works"', 'lead_time = "15 working days"'),
            "assemblies/top.toml": assembly("TOP", 'lead_time = "0 days"', lines=["P"]),
            "plans/p.toml": plan_of("receive_by = 2027-02-26"),
        }
    )


def test_fifteen_working_days_to_the_end_of_february() -> None:
    """8 February with no calendar; 11 January when the plant is shut 25 January to 19 February (worked by hand).

    The date on paper is 28 days too late; the leg crossed the closure, which took 20 working days.
    """
    plain = order(dates_of(fifteen(HEAD)), "P")
    assert (plain.latest, plain.paper_late) == (day("2027-02-08"), 0)
    dates = dates_of(fifteen(SHUT))
    found = order(dates, "P")
    assert (found.latest, found.order_by) == (day("2027-01-11"), day("2027-01-11"))
    assert (found.paper, found.paper_late) == (day("2027-02-08"), 28)
    # Planned today, Wednesday 25 November: 47 days before 11 January.
    assert (found.planned, found.slack, found.late_by) == (day("2026-11-25"), 47, 0)
    reason = dates.strips[found.chain[0]]
    assert (reason.name, reason.calendar) == ("lead time", "Works")
    assert [(each.closure.name, each.lost) for each in reason.crossed] == [("lunar new year", Fraction(20))]


def test_public_holidays_count_by_the_name_of_the_calendar() -> None:
    """With the works off on Friday 26 February, fifteen days end on the 25th: 7 and 8 January are needed.

    22-25 February 4, 18-22 January 5, 11-15 January 5, so one is left: Friday 8 January.
    """
    job = fifteen(SHUT)
    books = books_of(job.product, {"works": [day("2027-02-26")]})
    found = order(schedule([job], books, day("2026-11-25")).builds[0], "P")
    assert found.latest == day("2027-01-08")


def test_late_already_and_by_how_much() -> None:
    dates = dates_of(fifteen(SHUT), day("2027-01-14"))
    found = order(dates, "P")
    assert (found.planned, found.slack, found.late_by) == (day("2027-01-14"), -3, 3)
    # From Thursday 14 January: 14-15 2, 18-22 5, then after the closure 22-26 February 5, 1-3 March 3.
    assert dates.earliest == day("2027-03-03")
    assert dates.late_by == 5
    assert dates.binding.items == ("P", "TOP", "b")


def test_a_latest_date_on_a_weekend_becomes_the_seller_s_business_day_before() -> None:
    """Two weeks to Friday 26 February begin on Saturday 13 February; the seller is open on Friday 22 January."""
    job = job_of(
        {
            "product.toml": SHUT,
            "firms/works.toml": WORKS,
            "parts/p.toml": part("P", 'seller = "works"', 'lead_time = "2 weeks"'),
            "assemblies/top.toml": assembly("TOP", 'lead_time = "0 days"', lines=["P"]),
            "plans/p.toml": plan_of("receive_by = 2027-02-26"),
        }
    )
    found = order(dates_of(job), "P")
    assert (found.latest, found.order_by) == (day("2027-02-13"), day("2027-01-22"))
    # Slack is counted to the latest date: 80 days from 25 November to 13 February.
    assert found.slack == 80
    # Asked on a Saturday, the order goes out on Monday.
    assert order(dates_of(job, day("2026-11-28")), "P").planned == day("2026-11-30")


OWNERS = """\
[firm.s]
name = "S"
calendar = "s"
[firm.f]
name = "F"
calendar = "f"
[firm.c]
name = "C"
calendar = "c"
[firm.shop]
name = "Shop"
calendar = "shop"
[firm.own]
name = "Own"
roles = ["us"]
calendar = "own"
[channel.shelf]
name = "Shelf"
customer = "shop"
kind = "retail"
[channel.web]
name = "Web"
kind = "direct"
"""
NAMED = HEAD + "".join(
    f'[calendar.{name}]\nname = "{name}"\n' for name in ("s", "f", "c", "shop", "own", "x")
)


@pytest.mark.parametrize(
    ("leg", "calendar"),
    [
        (Leg(name="l", owner="seller"), "s"),
        (Leg(name="l", owner="factory"), "f"),
        (Leg(name="l", owner="carrier"), "c"),
        (Leg(name="l", owner="customer"), "shop"),
        (Leg(name="l", owner="us"), "own"),
        (Leg(name="l", owner="port"), None),
        (Leg(name="l", owner="customs"), None),
        (Leg(name="l", owner="customs", calendar="x"), "x"),
        (Leg(name="l", owner="seller", calendar="x"), "x"),
    ],
)
def test_each_leg_runs_in_its_owner_s_calendar(leg: Leg, calendar: str | None) -> None:
    book = book_of(product({"product.toml": NAMED, "firms/f.toml": OWNERS}))
    owners = Owners(seller="s", factory="f", carrier="c", customer="shop")
    assert book.of_leg(leg, owners).name == calendar


def test_the_customer_of_a_build_is_who_buys_all_of_it() -> None:
    files = {
        "product.toml": NAMED,
        "firms/f.toml": OWNERS,
        "assemblies/top.toml": assembly("TOP"),
        "plans/p.toml": plan_of("", more='[[sales]]\nsku = "TOP"\nchannel = "shelf"\nbuild = "b"\n'),
    }
    job = job_of(files)
    assert customer_of(job.product, job.plan, job.build) == "shop"
    files["plans/p.toml"] += '[[sales]]\nsku = "TOP"\nchannel = "web"\n'
    job = job_of(files)
    assert customer_of(job.product, job.plan, job.build) is None


# Parts at their step

STEPS = """\
steps = [
  { name = "solder", time = "2 working days" },
  { name = "test", time = "1 working day" },
  { name = "coat", time = "3 days" },
]"""


def stepped(*facts: str, lines: tuple[str, ...], more: dict[str, str] | None = None) -> Job:
    """Return a build to be finished by Friday 26 February 2027."""
    numbers = sorted({line.partition(" @ ")[0] for line in lines} - {"SUB"})
    return job_of(
        {
            "parts/p.toml": "".join(part(number, 'lead_time = "1 week"') for number in numbers),
            "assemblies/top.toml": assembly("TOP", STEPS, *facts, lines=lines),
            "plans/p.toml": plan_of("ship = 2027-02-27"),
            **(more or {}),
        }
    )


def test_parts_are_due_at_the_start_of_their_step() -> None:
    """Coat: 24 to 26 February (days). Test: Tuesday 23. Solder: Friday 19 and Monday 22.

    Each part is due the day before, a week's lead time starts six days before that.
    """
    dates = dates_of(stepped(lines=("A", "B @ test", "C @ coat")))
    assert legs(dates, "TOP") == [
        ("solder", "2027-02-19", "2027-02-22"),
        ("test", "2027-02-23", "2027-02-23"),
        ("coat", "2027-02-24", "2027-02-26"),
    ]
    assert {item: str(order(dates, item).need) for item in "ABC"} == {
        "A": "2027-02-18",
        "B": "2027-02-22",
        "C": "2027-02-23",
    }
    assert order(dates, "A").latest == day("2027-02-12")


def test_a_sub_assembly_is_due_at_the_step_that_needs_it_and_a_phantom_where_it_is() -> None:
    more = {
        "assemblies/sub.toml": assembly("SUB", 'lead_time = "1 working day"', lines=["X"]),
        "assemblies/kit.toml": assembly("KIT", "phantom = true", lines=["Y"]),
        "parts/more.toml": part("X", 'lead_time = "1 week"') + part("Y", 'lead_time = "1 week"'),
    }
    job = stepped(lines=("A",), more=more)
    lines = assembly("TOP", STEPS, lines=["A", "SUB @ coat", "KIT @ test"])
    dates = dates_of(
        job_of(
            {
                "parts/p.toml": part("A", 'lead_time = "1 week"'),
                "assemblies/top.toml": lines,
                "plans/p.toml": plan_of("ship = 2027-02-27"),
                **more,
            }
        )
    )
    assert job.build == dates.job.build
    # Coat begins on the 24th: the sub-assembly is made on the 23rd, its part is there on the 22nd.
    assert dates.starts["SUB"] == day("2027-02-23")
    assert order(dates, "X").need == day("2027-02-22")
    assert order(dates, "Y").need == day("2027-02-22")


def test_lines_count_as_they_hold_for_the_run() -> None:
    """B holds for other serial numbers, C is kitted though not fitted, D is neither."""
    lines = assembly("TOP", 'lead_time = "1 day"', lines=["A", "B", "C", "D", "SUB"])
    lines = lines.replace('part = "B"', 'part = "B"\neffective = { from_serial = 11 }')
    lines = lines.replace('part = "C"', 'part = "C"\nfitted = false\nkitted = true')
    lines = lines.replace('part = "D"', 'part = "D"\nfitted = false')
    sub = assembly("SUB", 'lead_time = "1 day"', lines=["SUBSUB"])
    later = assembly("SUBSUB", 'lead_time = "1 day"', lines=["A"])
    job = job_of(
        {
            "parts/p.toml": "".join(part(each, 'lead_time = "1 week"') for each in "ABCD"),
            "assemblies/top.toml": lines
            + '[[line]]\nitem = 6\npart = "SUBSUB"\nqty = 1\neffective = { from_serial = 11 }\n',
            "assemblies/sub.toml": sub,
            "assemblies/subsub.toml": later,
            "plans/p.toml": plan_of("ship = 2027-02-27", qty=10),
        }
    )
    run = replace(job.demand.run, serials=(1, 10))
    job = replace(job, demand=demand_of(job.product, run))
    places = places_of(job.product, job.demand)
    assert [(each.assembly, each.part, each.made) for each in places] == [
        ("TOP", "A", False),
        ("TOP", "C", False),
        ("TOP", "SUB", True),
        ("SUB", "SUBSUB", True),
        ("SUBSUB", "A", False),
    ]


def test_each_is_built_where_its_maker_is() -> None:
    """The build says who builds what ships; what is below stays with its own factory, and passes incoming here."""
    firms = """\
[firm.works]
name = "Works"
calendar = "works"
[firm.other]
name = "Other"
[firm.other.factory]
incoming = "3 days"
"""
    job = job_of(
        {
            "product.toml": SHUT,
            "firms/f.toml": firms,
            "assemblies/top.toml": assembly(
                "TOP", 'factory = "works"', 'lead_time = "1 working day"', lines=["SUB"]
            ),
            "assemblies/sub.toml": assembly("SUB", 'factory = "works"', 'lead_time = "1 working day"'),
            "plans/p.toml": plan_of('ship = 2027-02-16\nfactory = "other"'),
        }
    )
    dates = dates_of(job)
    # Monday 15 February at the other's; incoming 12 to 14 February; the works made it before they shut.
    assert legs(dates, "SUB") == [
        ("building", "2027-01-22", "2027-01-22"),
        ("incoming inspection", "2027-02-12", "2027-02-14"),
    ]
    assert dates.starts["TOP"] == day("2027-02-15")


def test_a_part_used_twice_is_due_at_the_earlier_step() -> None:
    dates = dates_of(stepped(lines=("A @ coat", "B", "A @ test")))
    assert order(dates, "A").need == day("2027-02-22")


def test_incoming_inspection_comes_before_use_and_inspection_before_shipment() -> None:
    """Inspection: Thursday 25 and Friday 26 February, so the building day is Wednesday 24.

    Incoming works on the 22nd and 23rd, the first days after the closure; the lead time ends on the 21st.
    """
    job = job_of(
        {
            "product.toml": SHUT,
            "firms/works.toml": WORKS + '[firm.works.factory]\nincoming = "2 working days"\n',
            "parts/p.toml": part("P", 'lead_time = "1 week"'),
            "assemblies/top.toml": assembly(
                "TOP", 'factory = "works"', 'lead_time = "1 working day"', lines=["P"]
            ),
            "plans/p.toml": plan_of('receive_by = 2027-02-26\ninspection = "2 working days"'),
        }
    )
    dates = dates_of(job)
    assert dates.starts == {"TOP": day("2027-02-24")}
    assert legs(dates, "P") == [
        ("lead time", "2027-02-15", "2027-02-21"),
        ("incoming inspection", "2027-02-22", "2027-02-23"),
    ]


# Batches and capacity


def run(facts: str, units: int, most: int | None = None) -> list[tuple[str, str, int]]:
    made = product({"assemblies/top.toml": assembly("TOP", facts)})
    found = run_legs(
        made.assemblies["TOP"], Fraction(units), None, book_of(made), None if most is None else Count(most)
    )
    return [(leg.name, str(leg.duration), leg.loops) for leg in found]


TWO = 'steps = [{ name = "one", time = "2 working days" }, { name = "two", time = "1 working day" }]'


@pytest.mark.parametrize(
    ("facts", "units", "most", "rest"),
    [
        # 700 more at 2,500 a week of five days: 1.4 days, so 2.
        (f"{TWO}\nbatch = 500\ncapacity_per_week = 2500", 1200, None, [("rest of the run at 2500 a week", "2 working days", 1)]),
        # The factory's 1,000 a week is the smallest: 3.5 days, so 4.
        (f"{TWO}\nbatch = 500\ncapacity_per_week = 2500", 1200, 1000, [("rest of the run at 1000 a week", "4 working days", 1)]),
        # No batch: all move together, but 1,200 at 1,000 a week take 6 days, 3 more than the steps.
        (f"{TWO}\ncapacity_per_week = 1000", 1200, None, [("rest of the run at 1000 a week", "3 working days", 1)]),
        # No batch and enough capacity: nothing to add.
        (f"{TWO}\ncapacity_per_week = 10000", 1200, None, []),
        # No capacity: three batches, each waits for the slowest step.
        (f"{TWO}\nbatch = 500", 1200, None, [("2 more batches of 500", "2 working days", 2)]),
        (f"{TWO}\nbatch = 500", 1000, None, [("1 more batch of 500", "2 working days", 1)]),
        (f"{TWO}\nbatch = 500", 500, None, []),
    ],
)  # fmt: skip
def test_the_rest_of_a_run_follows_the_first_batch(
    facts: str, units: int, most: int | None, rest: list[tuple[str, str, int]]
) -> None:
    steps = [("one", "2 working days", 1), ("two", "1 working day", 1)]
    assert run(facts, units, most) == [*steps, *rest]


def test_the_slowest_step_holds_up_the_run() -> None:
    """800 more at 400 a week: 10 working days."""
    facts = 'steps = [{ name = "one", time = "3 working days", capacity_per_week = 400 }]\nbatch = 200\ncapacity_per_week = 2000'
    assert run(facts, 1000)[1:] == [("rest of the run at 400 a week", "10 working days", 1)]
    # A step said to do its batch in a day claims 1,000 a week: the whole run still takes 12.5 days, 11.5 more.
    faster = facts.replace("3 working days", "1 working day")
    assert run(faster, 1000)[1:] == [("rest of the run at 400 a week", "12 working days", 1)]


def test_a_stated_whole_stands_for_steps_with_a_hole() -> None:
    hole = 'steps = [{ name = "one", time = "2 days" }, { name = "two" }]'
    assert run(f'{hole}\nlead_time = "6 days"', 1) == [("building", "6 days", 1)]
    assert run(hole, 1) == [("one", "2 days", 1), ("two", "None", 1)]
    assert run("", 1) == [("building", "None", 1)]
    assert run(f'{TWO}\nlead_time = "6 days"', 1) == [
        ("one", "2 working days", 1),
        ("two", "1 working day", 1),
    ]


# Sources


def test_a_lead_time_seen_to_be_longer_counts_for_the_season_not_for_cash() -> None:
    files = {
        "parts/p.toml": part(
            "P", 'lead_time = "10 weeks"', 'lead_observed = "12 weeks"', 'inbound = "5 days"'
        ),
        "assemblies/top.toml": assembly("TOP", 'lead_time = "0 days"', lines=["P"]),
        "plans/p.toml": plan_of("receive_by = 2027-05-28"),
    }
    # Inbound 24 to 28 May; 84 days to 23 May begin on 1 March, 70 days on 15 March.
    assert order(dates_of(job_of(files)), "P").latest == day("2027-03-01")
    assert order(dates_of(job_of(files, kind="likely")), "P").latest == day("2027-03-15")


def test_legs_take_the_asked_time_or_the_nearest_and_loops_repeat() -> None:
    leg = '{ name = "make", owner = "seller", best = "1 day", likely = "2 days", worst = "5 days" }'
    loop = '{ name = "sample", owner = "seller", likely = "3 days", loops = 2 }'
    files = {
        "parts/p.toml": part("P", f"leg = [{leg}, {loop}]"),
        "assemblies/top.toml": assembly("TOP", 'lead_time = "0 days"', lines=["P"]),
        "plans/p.toml": plan_of("receive_by = 2027-02-26"),
    }
    assert legs(dates_of(job_of(files)), "P") == [
        ("make", "2027-02-16", "2027-02-20"),
        ("sample", "2027-02-21", "2027-02-26"),
    ]
    assert legs(dates_of(job_of(files, kind="likely")), "P")[0] == ("make", "2027-02-19", "2027-02-20")


def test_what_a_seller_cannot_deliver_in_the_first_week_follows() -> None:
    """10,000 at 4,000 a week: 1.5 weeks more, 7.5 working days, so 8: 17 to 26 February."""
    job = job_of(
        {
            "parts/p.toml": part("P", 'lead_time = "1 week"', "capacity_per_week = 4000"),
            "assemblies/top.toml": assembly("TOP", 'lead_time = "0 days"', lines=["P"]),
            "plans/p.toml": plan_of("receive_by = 2027-02-26", qty=10000),
        }
    )
    assert legs(dates_of(job), "P") == [
        ("lead time", "2027-02-10", "2027-02-16"),
        ("further deliveries", "2027-02-17", "2027-02-26"),
    ]


def sources(text: str) -> Product:
    return product(
        {"parts/p.toml": "[part.P]\n" + "".join(f"[[part.P.source]]\n{each}\n" for each in text.split("|"))}
    )


@pytest.mark.parametrize(
    ("text", "chosen"),
    [
        ('status = "approved"\nrank = 2|status = "approved"\nrank = 1', (1,)),
        ('status = "denied"\nrank = 1|status = "trial"', (1,)),
        ('status = "approved"|status = "approved"', (0,)),
        ('status = "approved"\nshare = "70 %"|status = "approved"\nshare = "30 %"', (0, 1)),
        ('status = "approved"\nshare = "100 %"|status = "approved"\nshare = "0 %"', (0,)),
    ],
)
def test_preferred_sources(text: str, chosen: tuple[int, ...]) -> None:
    assert preferred(sources(text).parts["P"].source) == chosen
    assert preferred(()) == ()


def test_order_by_and_lead_days_of_a_source() -> None:
    made = product(
        {
            "product.toml": SHUT,
            "firms/works.toml": WORKS,
            "parts/p.toml": part(
                "P", 'seller = "works"', 'lead_time = "15 working days"', 'inbound = "1 day"'
            )
            + part("Q", 'seller = "works"'),
        }
    )
    book, source, unknown = book_of(made), made.parts["P"].source[0], made.parts["Q"].source[0]
    # Needed on Sunday 28 February: inbound on the 27th, fifteen days to the 26th.
    assert order_by(source, day("2027-02-28"), book) == day("2027-01-11")
    # From Monday 1 January 2001, three weeks less a weekend and a day of inbound.
    assert lead_days(source, book) == 20
    assert order_by(unknown, day("2027-02-28"), book) is None
    assert lead_days(unknown, book) is None


def test_an_expedite_quote_beside_the_order() -> None:
    """Ordered on 25 November: 4 weeks end on 22 December, 10 weeks on 2 February; due on 15 January."""
    faster = 'expedite = [{ lead_time = "4 weeks", each = 0.5, fee = "350 USD", valid_until = 2026-11-24 }]'
    job = job_of(
        {
            "parts/p.toml": part("P", 'lead_time = "10 weeks"', faster),
            "assemblies/top.toml": assembly("TOP", 'lead_time = "0 days"', lines=["P"]),
            "plans/p.toml": plan_of("receive_by = 2027-01-15"),
        }
    )
    found = order(dates_of(job), "P")
    assert (found.ready, found.late_by) == (day("2027-02-02"), 18)
    (quick,) = found.faster
    assert (quick.there, quick.in_time, quick.valid) == (day("2026-12-22"), True, False)
    # 28 days to Friday 15 January begin on Saturday 19 December.
    assert (quick.latest, quick.order_by) == (day("2026-12-19"), day("2026-12-18"))
    assert quick.expedite.fee is not None


# Tools

TOOL = '[tool.T]\nname = "Mould"\nkind = "mould"\nmakes = ["P"]\n'
MOULD = """\
leg = [
  { name = "cutting", owner = "seller", likely = "4 weeks" },
  { name = "sampling", owner = "seller", likely = "1 week", loops = 2 },
  { name = "approval", owner = "us", likely = "2 days" },
]
"""


def tooled(tool: str, lines: tuple[str, ...] = ("P",), steps: str = STEPS) -> Job:
    return job_of(
        {
            "parts/p.toml": part("P", 'lead_time = "2 weeks"'),
            "assemblies/top.toml": assembly("TOP", steps, lines=lines),
            "tools/t.toml": tool,
            "plans/p.toml": plan_of("ship = 2027-02-27"),
        }
    )


def test_a_tool_is_approved_before_the_part_it_makes_is_ordered() -> None:
    """P is due on 18 February, ordered on the 5th; approval 3 and 4 February, samples from 20 January, steel from
    23 December. Ordered today, it is approved on 7 January, and P can be ordered on the 8th.
    """
    dates = dates_of(tooled(TOOL + MOULD))
    assert order(dates, "P").latest == day("2027-02-05")
    assert legs(dates, "T") == [
        ("cutting", "2026-12-23", "2027-01-19"),
        ("sampling", "2027-01-20", "2027-02-02"),
        ("approval", "2027-02-03", "2027-02-04"),
    ]
    # 25 November + 28 days to 22 December, 14 to 5 January, 2 to 7 January; the 8th is a Friday.
    assert order(dates, "T").ready == day("2027-01-07")
    assert order(dates, "P").planned == day("2027-01-08")
    assert order(dates, "P").slack == order(dates, "T").slack == 28
    assert dates.critical is not None
    assert dates.critical.items == ("T", "P", "TOP", "b")


def test_an_approved_tool_is_done_and_an_ordered_one_began() -> None:
    done = dates_of(tooled(TOOL + MOULD + "approved = 2026-11-02\n"))
    assert done.order("T") is None
    assert order(done, "P").planned == day("2026-11-25")
    begun = order(dates_of(tooled(TOOL + MOULD + "ordered = 2026-11-02\n")), "T")
    # 44 days from 2 November end on 15 December.
    assert (begun.planned, begun.ready) == (day("2026-11-02"), day("2026-12-15"))
    assert begun.slack == 51  # from 2 November to 23 December


def test_an_ordered_tool_that_should_be_ready_holds_up_nothing_before_today() -> None:
    dates = dates_of(tooled(TOOL + 'lead_time = "1 week"\nordered = 2026-10-01\n'))
    assert order(dates, "P").planned == day("2026-11-25")


def test_a_fixture_is_due_at_its_step_and_a_leg_before_the_step_it_names() -> None:
    fixture = TOOL.replace('"P"', '"TOP"') + 'lead_time = "1 week"\n'
    assert order(dates_of(tooled(fixture)), "T").need == day("2027-02-18")
    steps = STEPS.replace('name = "coat"', 'name = "coat", fixture = "T"')
    assert order(dates_of(tooled(fixture, steps=steps)), "T").need == day("2027-02-23")
    # Cutting is to be done before the test on 23 February, which asks for less than what follows it:
    legs_ = fixture.replace('lead_time = "1 week"', MOULD.replace('"cutting"', '"cutting", step = "test"'))
    dates = dates_of(tooled(legs_, steps=steps))
    # approval 22-23 February, samples 8-21 February, cutting to the 7th.
    assert legs(dates, "T")[0] == ("cutting", "2027-01-11", "2027-02-07")
    sooner = (
        TOOL.replace('"P"', '"TOP"')
        + 'leg = [{ name = "draft", owner = "us", likely = "1 day", step = "solder" }, { name = "rest", owner = "us", likely = "1 day" }]\n'
    )
    # The rest is due on the 23rd for coating, the draft before soldering on the 19th.
    assert legs(dates_of(tooled(sooner, steps=steps)), "T") == [
        ("draft", "2027-02-18", "2027-02-18"),
        ("rest", "2027-02-23", "2027-02-23"),
    ]


def test_the_critical_path_begins_with_what_holds_up_the_most_pressing_order() -> None:
    """The mould, ordered long ago, could begin much later before a closure; the part after it could not.

    P: 15 working days to 26 February from 11 January; the mould ends on Friday 8 January, so P can be ordered on
    the 11th at the earliest: no slack. The mould's 10 working days could be any before that.
    """
    job = fifteen(SHUT)
    tools = {
        "T": tooled(TOOL + 'firm = "works"\nlead_time = "40 days"\nordered = 2026-11-30\n').product.tools["T"]
    }
    job = replace(job, product=replace(job.product, tools=tools))
    dates = dates_of(job)
    assert dates.critical is not None
    # Forty days from 30 November end on 8 January.
    assert (dates.critical.items, dates.critical.slack) == (("T", "P", "TOP", "b"), 0)
    assert dates.rival is None
    assert [order(dates, item).critical for item in ("T", "P")] == [True, True]


def test_a_kick_off_counts_nothing_that_was_begun() -> None:
    """P can be ordered until 5 February; the mould, begun, would have had to start on 23 December."""
    job = tooled(TOOL + MOULD + "ordered = 2026-11-02\n")
    assert dates_of(job).kickoff == day("2027-02-05")
    assert dates_of(tooled(TOOL + MOULD)).kickoff == day("2026-12-23")


# Unknown times


def test_what_is_not_known_is_a_bound_and_never_none_in_silence() -> None:
    job = job_of(
        {
            "parts/p.toml": part("P") + part("Q", 'lead_time = "1 week"') + "[part.R]\n",
            "assemblies/top.toml": assembly("TOP", 'lead_time = "1 day"', lines=["P", "Q", "R"]),
            "plans/p.toml": plan_of("receive_by = 2027-02-26"),
        }
    )
    dates = dates_of(job)
    unknown = order(dates, "P")
    assert (unknown.unknown, unknown.bound, unknown.ready_bound) == (("lead time",), True, True)
    assert order(dates, "R").unknown == ("no source",)
    known = order(dates, "Q")
    assert (known.bound, known.ready_bound, known.latest) == (False, False, day("2027-02-19"))
    assert dates.earliest_bound
    assert dates.unknown == ("P: lead time", "R: no source")


def test_dates_beyond_an_unknown_step_are_bounds() -> None:
    steps = 'steps = [{ name = "one", time = "1 day" }, { name = "two" }, { name = "three", time = "1 day" }]'
    job = job_of(
        {
            "parts/p.toml": part("P", 'lead_time = "1 week"') + part("Q", 'lead_time = "1 week"'),
            "assemblies/top.toml": assembly("TOP", steps, lines=["P", "Q @ three"]),
            "plans/p.toml": plan_of("receive_by = 2027-02-26"),
        }
    )
    dates = dates_of(job)
    assert (order(dates, "P").bound, order(dates, "Q").bound) == (True, False)


def test_a_build_without_a_lane_or_a_date() -> None:
    files = {
        "parts/p.toml": part("P", 'lead_time = "1 week"'),
        "assemblies/top.toml": assembly("TOP", 'lead_time = "1 day"', lines=["P"]),
        "plans/p.toml": plan_of(""),
    }
    dates = dates_of(job_of(files))
    found = order(dates, "P")
    assert (found.latest, found.slack, found.paper_late, dates.due, dates.critical) == (
        None,
        None,
        None,
        None,
        None,
    )
    # A week from Wednesday 25 November ends on 1 December, the day of building is the 2nd.
    assert (dates.earliest, dates.earliest_bound) == (day("2026-12-02"), False)
    far = dates_of(
        job_of(
            files | {"plans/p.toml": plan_of("receive_by = 2027-02-26").replace("door", "none")}, lane=DOOR
        )
    )
    assert (order(far, "P").bound, far.earliest_bound) == (True, True)


def test_a_day_of_shipping_dates_the_build_even_where_the_way_is_unknown() -> None:
    files = {
        "assemblies/top.toml": assembly("TOP", 'lead_time = "1 day"'),
        "plans/p.toml": plan_of("ship = 2027-02-20").replace("door", "none"),
    }
    dates = dates_of(job_of(files))
    assert (dates.starts, dates.due, dates.earliest_bound) == ({"TOP": day("2027-02-19")}, None, True)
    assert build_days(dates.job, book_of(dates.job.product)).arrives is None


# Where the plan gives the day


@pytest.mark.parametrize(
    ("dates", "ships", "start", "due"),
    [
        # Received on 26 February: at sea for five days from the 22nd, built on Friday 19.
        ("receive_by = 2027-02-26", "2027-02-22", "2027-02-19", "2027-02-26"),
        # Leaves on the 22nd: the same.
        ("ship = 2027-02-22", "2027-02-22", "2027-02-19", "2027-02-26"),
        # Starts on the 19th: leaves the day after, a Saturday.
        ("start = 2027-02-19", "2027-02-20", "2027-02-19", "2027-02-24"),
        # Leaves on the 17th although the 22nd would do: the plan's word.
        ("ship = 2027-02-17\nreceive_by = 2027-02-26", "2027-02-17", "2027-02-16", "2027-02-21"),
        # Leaves on the 24th, which is too late: the day of arrival decides.
        ("ship = 2027-02-24\nreceive_by = 2027-02-26", "2027-02-22", "2027-02-19", "2027-02-26"),
    ],
)
def test_from_the_day_of_arrival_of_shipping_or_of_the_start(
    dates: str, ships: str, start: str, due: str
) -> None:
    lane = DOOR.replace(
        'owner = "us", likely = "0 days"', 'owner = "carrier", likely = "3 days", worst = "5 days"'
    )
    job = job_of(
        {
            "parts/p.toml": part("P", 'lead_time = "1 week"'),
            "assemblies/top.toml": assembly("TOP", 'lead_time = "1 working day"', lines=["P"]),
            "plans/p.toml": plan_of(dates),
        },
        lane=lane,
    )
    found = dates_of(job)
    assert (str(found.ships), str(found.starts["TOP"]), str(found.due)) == (ships, start, due)
    days = build_days(job, book_of(job.product))
    assert (days.ships, days.starts, days.needs) == (
        found.ships,
        found.starts,
        {"P": order(found, "P").need},
    )
    # By the likely legs it is there after three days.
    assert days.arrives == day(ships) + dt.timedelta(days=2)


def test_five_weeks_at_sea_against_two_by_air_move_the_arrival_by_three() -> None:
    files = {
        "assemblies/top.toml": assembly("TOP", 'lead_time = "1 working day"'),
        "plans/p.toml": plan_of("ship = 2027-02-22"),
    }
    sea, air = (
        build_days(
            job := job_of(files, lane=DOOR.replace("0 days", f"{weeks} weeks")), book_of(job.product)
        ).arrives
        for weeks in (5, 2)
    )
    assert sea is not None
    assert air is not None
    assert sea - air == dt.timedelta(weeks=3)


def test_the_earliest_delivery_waits_for_no_planned_day() -> None:
    files = {
        "parts/p.toml": part("P", 'lead_time = "1 week"'),
        "assemblies/top.toml": assembly("TOP", 'lead_time = "1 day"', lines=["P"]),
        "plans/p.toml": plan_of("start = 2027-02-19"),
    }
    assert dates_of(job_of(files)).earliest == day("2026-12-02")


# Stock and open orders


def test_covered_parts_need_no_order() -> None:
    job = job_of(
        {
            "parts/p.toml": "".join(part(each, 'lead_time = "20 weeks"') for each in "PQR"),
            "assemblies/top.toml": assembly("TOP", 'lead_time = "1 day"', lines=["P", "Q", "R"]),
            "plans/p.toml": plan_of("receive_by = 2027-02-26"),
        }
    )
    covers = {"P": Cover(), "Q": Cover(due=day("2027-01-29"), ordered=day("2026-10-01"), order="PO-1")}
    dates = dates_of(replace(job, covers=covers))
    assert dates.network.in_stock == ("P",)
    assert dates.order("P") is None
    coming = order(dates, "Q")
    # Promised for 29 January, needed by 25 February: 27 days.
    assert (coming.planned, coming.ready, coming.need, coming.slack) == (
        day("2026-10-01"), day("2027-01-29"), day("2027-02-25"), 27,
    )  # fmt: skip
    assert legs(dates, "Q")[0][0] == "on order PO-1"
    # 140 days to 25 February begin on 9 October, 47 days before 25 November.
    assert order(dates, "R").late_by == 47


def test_two_chosen_sources_are_two_orders() -> None:
    job = job_of(
        {
            "parts/p.toml": part("P", 'lead_time = "1 week"')
            + '[[part.P.source]]\nstatus = "approved"\nlead_time = "3 weeks"\n',
            "assemblies/top.toml": assembly("TOP", 'lead_time = "1 day"', lines=["P"]),
            "plans/p.toml": plan_of("receive_by = 2027-02-26"),
        }
    )
    dates = dates_of(replace(job, chosen={"P": (0, 1)}))
    assert [(each.order.source, str(each.latest)) for each in dates.orders] == [
        (1, "2027-02-05"),
        (0, "2027-02-19"),
    ]
    assert [each.order.source for each in dates_of(job).orders] == [0]


def test_the_orders_of_a_plan_come_most_pressing_first() -> None:
    files = {
        "parts/p.toml": part("P", 'lead_time = "1 week"') + part("Q", 'lead_time = "3 weeks"'),
        "assemblies/top.toml": assembly("TOP", 'lead_time = "1 day"', lines=["P", "Q"]),
        "plans/p.toml": plan_of("receive_by = 2027-02-26"),
    }
    job = job_of(files)
    other = replace(job, build=replace(job.build, name="c", receive_by=None))
    found = schedule([other, job], books_of(job.product), day("2026-11-25"))
    assert [build.build for build in found.builds] == ["c", "b"]
    assert [(each.build, each.item) for each in found.orders] == [
        ("b", "Q"),
        ("b", "P"),
        ("c", "P"),
        ("c", "Q"),
    ]


# Kick-off


def test_the_latest_kick_off_jumps_back_over_a_closure() -> None:
    """Fifteen days to 26 February begin on 11 January; to Monday 22 February, one day after the closure, on the 5th.

    22 February 1, 18-22 January 5, 11-15 January 5, 5-8 January 4. To the 21st, still shut: 4 January.
    """
    job = fifteen(SHUT)
    book = book_of(job.product)
    found = {}
    for written in ("2027-02-26", "2027-02-22", "2027-02-21", "2027-01-25"):
        kickoff = latest_kickoff(job, day(written), book)
        assert kickoff is not None
        assert (kickoff.item, kickoff.bound) == ("P", False)
        found[written] = str(kickoff.day)
    assert found == {
        "2027-02-26": "2027-01-11",
        "2027-02-22": "2027-01-05",
        "2027-02-21": "2027-01-04",
        "2027-01-25": "2027-01-04",
    }
    # The build's own dates play no part.
    started = replace(job, build=replace(job.build, start=job.build.receive_by))
    assert latest_kickoff(started, day("2027-02-26"), book) == latest_kickoff(job, day("2027-02-26"), book)


def test_a_kick_off_with_something_unknown_is_a_bound() -> None:
    job = job_of(
        {
            "parts/p.toml": part("P", 'lead_time = "1 week"') + part("Q"),
            "assemblies/top.toml": assembly("TOP", 'lead_time = "1 day"', lines=["P", "Q"]),
            "plans/p.toml": plan_of(""),
        }
    )
    kickoff = latest_kickoff(job, day("2027-02-26"), book_of(job.product))
    assert kickoff is not None
    assert (kickoff.day, kickoff.bound) == (day("2027-02-19"), True)
    assert [leg.time.name for leg in kickoff.strips] == ["lead time", "building", "handing over"]


def test_whole_units_that_start_decide_the_run_not_the_good_ones() -> None:
    """900 good at a yield of 90 % are 1,000 that start: one day more than 900 at 1,000 a week of five days."""
    facts = 'steps = [{ name = "one", time = "1 day", yield = "90 %" }]\ncapacity_per_week = 1000'
    job = job_of(
        {
            "assemblies/top.toml": assembly("TOP", facts),
            "plans/p.toml": plan_of("receive_by = 2027-02-26", qty=900),
        }
    )
    # 1 day is 5/7 of a working day; 5 - 5/7 = 4.3, so 5 days of rest: 22 to 26 February; the step on the 21st.
    assert legs(dates_of(job), "TOP") == [
        ("one", "2027-02-21", "2027-02-21"),
        ("rest of the run at 1000 a week", "2027-02-22", "2027-02-26"),
    ]
    assert Decimal(job.build.qty) == 900

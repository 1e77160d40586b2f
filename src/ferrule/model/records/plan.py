"""Plans: builds, sales and money over time, with scenarios."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Literal

from ferrule.model.due import Due
from ferrule.model.duration import Duration
from ferrule.model.money import Money, SignedMoney
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.records.about import Id, Record, Text, about
from ferrule.model.records.common import Payment
from ferrule.model.serials import Serials
from ferrule.model.when import When

__all__ = [
    "Build",
    "Funding",
    "Lever",
    "Loan",
    "OneOff",
    "Overhead",
    "Plan",
    "PlanFile",
    "Sales",
    "Scenario",
    "WeekSales",
]


class Plan(Record, frozen=True, kw_only=True):
    """The plan itself."""

    id: Annotated[Id, about("Short name.", "first-season")]
    name: Annotated[str | None, about("Name in words.", "First season, two builds")] = None
    start: Annotated[dt.date, about("Monday of week 0.", "2026-11-30")]
    end: Annotated[When, about("Last day or week of the plan, inclusive.", "week 60", "2027-12-26")]
    opening: Annotated[SignedMoney | None, about("Cash at the start.", "185000 EUR")] = None
    floor: Annotated[Money | None, about("Cash never to fall below.", "20000 EUR")] = None
    season: Annotated[dt.date | None, about("Day by which goods must be on sale.", "2027-03-15")] = None
    note: Annotated[str | None, about("What the plan assumes.")] = None


class Build(Record, frozen=True, kw_only=True):
    """A quantity made at once."""

    name: Annotated[Id, about("Short name.", "spring")]
    sku: Annotated[Id, about("What is built (a SKU or assembly).", "W20-SINGLE")]
    qty: Annotated[Count, about("Good units wanted.", 1500)]
    factory: Annotated[Id | None, about("Firm that builds; else the assembly's.", "harbour")] = None
    lane: Annotated[Id | None, about("How it ships.", "halden-sea")] = None
    ship: Annotated[When | None, about("Day or week it leaves.", "2027-01-22")] = None
    receive_by: Annotated[When | None, about("Day or week it must be there.", "week 14")] = None
    start: Annotated[When | None, about("Day or week the build starts.", "week 6")] = None
    firm: Annotated[bool, about("Decided, not forecast.", True)] = True
    chance: Annotated[Percent | None, about("Chance that a forecast build happens.", "60 %")] = None
    payment: Annotated[tuple[Payment, ...], about("Terms of this build, before the factory's.")] = ()
    inspection: Annotated[Duration | None, about("Inspection before shipment.", "3 working days")] = None
    serials: Annotated[Serials | None, about("Serial numbers given out.", "1-1500")] = None


class WeekSales(Record, frozen=True, kw_only=True):
    """Units sold in one week."""

    week: Annotated[When, about("Week.", "week 18")]
    qty: Annotated[Count, about("Units.", 120)]


class Sales(Record, frozen=True, kw_only=True):
    """Units of a SKU sold in a channel."""

    sku: Annotated[Id, about("What is sold.", "W20-SINGLE")]
    channel: Annotated[Id, about("Where.", "web")]
    build: Annotated[Id | None, about("Build it sells from.", "spring")] = None
    qty: Annotated[Count | None, about("Units in all.", 900)] = None
    share: Annotated[Percent | None, about("Share of the build instead of units.", "60 %")] = None
    from_: Annotated[
        When | None, about("First day or week of sale; the arrival of the build when not said.", "week 16")
    ] = None
    lag: Annotated[Duration | None, about("From arrival to the first sale.", "1 week")] = None
    over_weeks: Annotated[
        int | None, about("Evenly over this many weeks, whole units, remainder first.", 16)
    ] = None
    curve: Annotated[tuple[WeekSales, ...], about("Units by week instead of evenly.")] = ()
    firm: Annotated[bool, about("Ordered by a customer, not forecast.", True)] = False
    probability: Annotated[Percent | None, about("Chance that it happens.", "80 %")] = None


class Overhead(Record, frozen=True, kw_only=True):
    """Money that leaves again and again."""

    name: Annotated[Text, about("What for.", "wages")]
    amount: Annotated[Money, about("Each time.", "21000 EUR")]
    every: Annotated[Literal["week", "month", "quarter"], about("How often.", "month")]
    from_: Annotated[When | None, about("First time; the plan's start when not said.", "week 0")] = None
    to: Annotated[When | None, about("Last time; the plan's end when not said.", "week 52")] = None
    kind: Annotated[Literal["wages", "rent", "services", "tax", "other"], about("What kind.", "wages")] = (
        "other"
    )


class OneOff(Record, frozen=True, kw_only=True):
    """Money that leaves once and is no tool."""

    name: Annotated[Text, about("What for.", "radio certification")]
    amount: Annotated[Money, about("How much.", "9800 EUR")]
    when: Annotated[When | None, about("Day or week.", "week 5")] = None
    due: Annotated[Due | None, about("Event instead of a day.", "tool approval")] = None
    payee: Annotated[Id | None, about("Firm paid.", "tern-lab")] = None
    payment: Annotated[tuple[Payment, ...], about("Terms when it is paid in parts.")] = ()
    kind: Annotated[
        Literal["certification", "engineering", "marketing", "travel", "other"],
        about("What kind.", "certification"),
    ] = "other"


class Funding(Record, frozen=True, kw_only=True):
    """Money that comes in without a sale."""

    name: Annotated[Text, about("What it is.", "second closing")]
    payer: Annotated[Id | None, about("Firm it comes from.", "shoreline")] = None
    amount: Annotated[Money, about("How much.", "60000 EUR")]
    when: Annotated[When, about("Day or week.", "week 8")]
    kind: Annotated[Literal["equity", "grant", "loan", "deposit", "other"], about("What kind.", "equity")]
    signed: Annotated[bool, about("Signed money counts; hoped money does not unless asked.", True)] = False
    chance: Annotated[Percent | None, about("Chance when not signed.", "50 %")] = None
    conditions: Annotated[str | None, about("What it hangs on.", "first retailer order")] = None
    repay: Annotated[When | None, about("Day or week a loan is repaid.", "week 52")] = None
    interest: Annotated[Percent | None, about("Yearly interest of a loan.", "8 %")] = None


class Loan(Record, frozen=True, kw_only=True):
    """A line of credit."""

    name: Annotated[Text, about("What it is.", "bank overdraft")]
    lender: Annotated[Id | None, about("Firm that lends.", "shoreline")] = None
    limit: Annotated[Money, about("Most that may be drawn.", "30000 EUR")]
    interest: Annotated[Percent | None, about("Yearly interest on what is drawn.", "9 %")] = None
    from_: Annotated[When | None, about("First day or week.", "week 0")] = None
    to: Annotated[When | None, about("Last day or week.", "week 52")] = None
    fee: Annotated[Money | None, about("Fee of the line a year.", "300 EUR")] = None


class Scenario(Record, frozen=True, kw_only=True):
    """Named settings over anything in the product."""

    note: Annotated[str | None, about("What it asks.", "What if sea freight takes two weeks longer?")] = None
    set: Annotated[
        dict[str, Any],
        about("Key path = value, for anything in the product.", {"lane.halden-sea.per_m3": 120}),
    ] = {}
    base: Annotated[Id | None, about("Scenario it starts from.", "air-first")] = None


class Lever(Record, frozen=True, kw_only=True):
    """A term to be negotiated, with its price."""

    note: Annotated[str | None, about("What we would ask for.", "factory balance 60 days after shipment")] = (
        None
    )
    set: Annotated[
        dict[str, Any], about("Key path = value.", {"firm.harbour.payment.1.due": "shipment + 60 days"})
    ] = {}
    price: Annotated[
        dict[str, Any],
        about("Settings the other side asks in return.", {"assembly.W20-300.markup.0.rate": "9 %"}),
    ] = {}
    with_: Annotated[Id | None, about("Firm it is negotiated with.", "harbour")] = None


class PlanFile(Record, frozen=True, kw_only=True):
    """One plan: plans/*.toml."""

    plan: Annotated[Plan, about("The plan itself.")]
    build: Annotated[tuple[Build, ...], about("Quantities made.")] = ()
    sales: Annotated[tuple[Sales, ...], about("Units sold.")] = ()
    overhead: Annotated[tuple[Overhead, ...], about("Money that leaves again and again.")] = ()
    one_off: Annotated[tuple[OneOff, ...], about("Money that leaves once and is no tool.")] = ()
    funding: Annotated[tuple[Funding, ...], about("Money that comes in without a sale.")] = ()
    loan: Annotated[tuple[Loan, ...], about("Lines of credit.")] = ()
    scenario: Annotated[
        dict[Id, Scenario], about("Scenarios by name; the unchanged one is `as-agreed`.")
    ] = {}
    lever: Annotated[dict[Id, Lever], about("Negotiable terms by name.")] = {}

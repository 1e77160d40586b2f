"""Assemblies: lines, steps, quoted factory price, sale."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from msgspec import Meta

from ferrule.model.designators import Designators
from ferrule.model.duration import Duration
from ferrule.model.money import Money
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.quantity import Quantity
from ferrule.model.records.about import Id, Record, Text, about
from ferrule.model.records.common import Document, Markup, Tier
from ferrule.model.records.part import Item, Supply

__all__ = [
    "Alternate",
    "Assembly",
    "AssemblyFile",
    "Effectivity",
    "FactoryPrice",
    "Line",
    "Quality",
    "Rework",
    "Sale",
    "Step",
]


class Effectivity(Record, frozen=True, kw_only=True):
    """Where a line holds. All ends are inclusive; an end that is missing is open."""

    from_: Annotated[dt.date | None, about("First day.", "2027-03-01")] = None
    to: Annotated[dt.date | None, about("Last day.", "2027-08-31")] = None
    from_serial: Annotated[int | None, about("First serial number.", 1501)] = None
    to_serial: Annotated[int | None, about("Last serial number.", 3000)] = None
    builds: Annotated[tuple[Id, ...], about("Builds of the plan it holds for.", ["autumn"])] = ()
    until_used_up: Annotated[bool, about("Holds until stock of the part is gone.", True)] = False


class Alternate(Record, frozen=True, kw_only=True):
    """Another part that may stand in a line."""

    part: Annotated[Id, about("Part number.", "C-100N-0603-B")]
    approved: Annotated[
        dt.date | None, about("Day of approval; without one it may not be used.", "2026-09-30")
    ] = None
    set: Annotated[Id | None, about("Alternates of one set switch together.", "flash-b")] = None
    effective: Annotated[Effectivity | None, about("Where the alternate holds.")] = None
    one_way: Annotated[bool, about("Alternate replaces the part, not the reverse.", True)] = False


class Line(Record, frozen=True, kw_only=True):
    """One entry of an assembly."""

    item: Annotated[int, about("Item reference (ISO 6433): unique in the assembly, never reused.", 10)]
    part: Annotated[Id, about("Part or assembly used.", "C-100N-0603")]
    qty: Annotated[
        Quantity | None,
        about("How many in one assembly; with a unit where it is not the part's.", 14, "0.35 m"),
    ] = None
    per: Annotated[
        Annotated[int, Meta(ge=1)] | None,
        about("The quantity is for this many of the assembly: 1 carton per 24.", 24),
    ] = None
    designators: Annotated[Designators | None, about("Places on the board.", "C1-C9, C12-C16")] = None
    fitted: Annotated[bool, about("False: the place stays empty.", False)] = True
    kitted: Annotated[bool, about("Supplied in the kit although not fitted.", True)] = False
    rate: Annotated[Quantity | None, about("Use of an as-required item in one assembly.", "0.4 g")] = None
    cut: Annotated[Quantity | None, about("Length cut from a roll or bar for each.", "4.2 m")] = None
    attrition: Annotated[Percent | None, about("Instead of the part's attrition.", "3 %")] = None
    attrition_floor: Annotated[Count | None, about("Instead of the part's floor.", 10)] = None
    setup_loss: Annotated[Count | None, about("Instead of the part's set-up loss.", 25)] = None
    alternates: Annotated[
        tuple[Alternate, ...], about("Parts that may stand in, in order of preference.")
    ] = ()
    choice: Annotated[Literal["ours", "factory"], about("Who picks among the alternates.", "ours")] = "ours"
    effective: Annotated[Effectivity | None, about("Where the line holds.")] = None
    supply: Annotated[Supply | None, about("Who buys for this line.", "consigned")] = None
    step: Annotated[
        str | None, about("Step at which it is fitted; the first when not said.", "final assembly")
    ] = None
    note: Annotated[str | None, about("Note for the assembler.", "torque 0.35 Nm")] = None


class Rework(Record, frozen=True, kw_only=True):
    """What happens to a failure. A failed retest is scrap."""

    share: Annotated[Percent, about("Failures that can be reworked.", "75 %")]
    cost: Annotated[Money | None, about("Cost of reworking one.", 3.2)] = None
    yield_: Annotated[Percent | None, about("Yield of the retest.", "90 %")] = None
    retest_cost: Annotated[
        Money | None, about("Cost of the retest; the step's cost again when not said.", 0.4)
    ] = None


class Step(Record, frozen=True, kw_only=True):
    """One operation, in order."""

    name: Annotated[Text, about("Name of the operation.", "place and solder")]
    cost: Annotated[Money | None, about("Price of the step for one.", 3.1)] = None
    tier: Annotated[
        tuple[Tier, ...],
        about(
            "Price by build quantity instead of one cost.",
            [{"from": 1, "each": 4.2}, {"from": 1000, "each": 3.1}],
        ),
    ] = ()
    per: Annotated[Literal["entering", "test", "good"], about("What the cost falls on.", "entering")] = (
        "entering"
    )
    kind: Annotated[
        Literal["labour", "test", "pack", "other"], about("Cost element it belongs to.", "labour")
    ] = "labour"
    minutes: Annotated[Count | None, about("Labour minutes.", 4.5)] = None
    hour_rate: Annotated[Money | None, about("Labour price of an hour.", "18 USD")] = None
    yield_: Annotated[Percent | None, about("Share of entering units that leave good.", "98.5 %")] = None
    yield_seen: Annotated[Percent | None, about("Best yield seen so far.", "97.9 %")] = None
    yield_evidence: Annotated[str | None, about("Where the yield comes from.", "evt build, 60 units")] = None
    rework: Annotated[Rework | None, about("What happens to failures; scrap when not said.")] = None
    fixture: Annotated[Id | None, about("Tool needed.", "T-BOARD-TEST")] = None
    program: Annotated[Document | None, about("Test program by content.")] = None
    time: Annotated[Duration | None, about("How long the step takes a batch.", "2 working days")] = None
    capacity_per_week: Annotated[Count | None, about("Most units a week.", 2500)] = None
    firm: Annotated[Id | None, about("Where it is done, when not at the assembly's factory.", "harbour")] = (
        None
    )


class FactoryPrice(Record, frozen=True, kw_only=True):
    """One quoted price for the whole assembly instead of lines and steps."""

    tier: Annotated[tuple[Tier, ...], about("Price by build quantity.", [{"from": 500, "each": 21.4}])] = ()
    currency: Annotated[str | None, about("Currency, ISO 4217.", "USD")] = None
    excludes: Annotated[tuple[Id, ...], about("Consigned parts not in the price.", ["U-MCU"])] = ()
    quote: Annotated[str | None, about("Quote number.", "HB-2026-77")] = None
    quoted: Annotated[dt.date | None, about("Day of the quote.", "2026-10-09")] = None
    valid_until: Annotated[dt.date | None, about("Last day of the quote.", "2027-02-28")] = None
    evidence: Annotated[str | None, about("Where the quote is kept.", "docs/quotes/HB-2026-77.pdf")] = None


class Quality(Record, frozen=True, kw_only=True):
    """What makes us refuse a lot, fixed before the lot is made."""

    file: Annotated[str | None, about("The plan.", "docs/quality-plan.pdf")] = None
    sha256: Annotated[str | None, about("SHA-256 of the plan.", "e3b0c44298fc1c14")] = None
    rev: Annotated[str | None, about("Its revision.", "A")] = None
    signed: Annotated[dt.date | None, about("Day both sides signed.", "2026-10-30")] = None
    level: Annotated[
        Literal["S-1", "S-2", "S-3", "S-4", "I", "II", "III"], about("Inspection level.", "II")
    ] = "II"
    critical: Annotated[
        str | None, about("Acceptance quality limit for critical defects; 0 accepts none.", "0")
    ] = None
    major: Annotated[str | None, about("Acceptance quality limit for major defects.", "1.0")] = None
    minor: Annotated[str | None, about("Acceptance quality limit for minor defects.", "4.0")] = None
    lot: Annotated[str | None, about("What a lot is.", "one SKU, one line, one run")] = None


class Sale(Record, frozen=True, kw_only=True):
    """How a SKU sells in one channel. What is not said here is the channel's."""

    list_price: Annotated[Money, about("Price on the shelf.", "189 EUR")]
    tax: Annotated[Percent | None, about("Sales tax contained in the price.", "20 %")] = None
    returns: Annotated[Percent | None, about("Units that come back.", "6 %")] = None
    return_cost: Annotated[Money | None, about("Cost of one return.", "6 EUR")] = None
    recovery: Annotated[Percent | None, about("Landed value recovered from a return.", "40 %")] = None
    warranty: Annotated[Percent | None, about("Units replaced under warranty.", "2 %")] = None
    warranty_handling: Annotated[Money | None, about("Cost of handling one warranty case.", "5 EUR")] = None
    warranty_lag: Annotated[
        Duration | None, about("Typical time from sale to warranty case.", "20 weeks")
    ] = None
    delivery: Annotated[Money | None, about("Fulfilment and postage of one.", "7.40 EUR")] = None
    weeks: Annotated[int | None, about("Weeks over which a delivery sells.", 16)] = None


class Assembly(Item, frozen=True, kw_only=True):
    """A part made of lines; with `sale` it is a SKU."""

    id: Annotated[Id, about("Part number.", "W20-210")]
    phantom: Annotated[bool, about("Never stocked: its lines count as the parent's.", True)] = False
    currency: Annotated[
        str | None, about("Currency of the amounts in this file; else the home currency.", "USD")
    ] = None
    factory: Annotated[Id | None, about("Firm that builds it.", "harbour")] = None
    origin: Annotated[
        str | None,
        about("Country of its last substantial transformation, ISO 3166; an adviser's matter.", "VN"),
    ] = None
    steps: Annotated[tuple[Step, ...], about("Operations in order.")] = ()
    price: Annotated[FactoryPrice | None, about("One quoted price instead of lines and steps.")] = None
    markup: Annotated[tuple[Markup, ...], about("The factory's percentages, before the firm's.")] = ()
    lead_time: Annotated[
        Duration | None, about("Time of building when steps have none.", "10 working days")
    ] = None
    calendar: Annotated[
        Id | None, about("Calendar of the building, before the factory's.", "factory-south")
    ] = None
    capacity_per_week: Annotated[Count | None, about("Most units a week.", 2000)] = None
    batch: Annotated[Count | None, about("Units that move together.", 500)] = None
    quality: Annotated[Quality | None, about("Quality plan.")] = None
    barcode: Annotated[str | None, about("GTIN of a SKU.", "2012345678903")] = None
    variant: Annotated[
        str | None, about("Country, plug or language variant.", "EU, English and German manual")
    ] = None
    bulk: Annotated[bool, about("Sold without unit packaging, to a firm that packs it.", True)] = False
    sale: Annotated[dict[Id, Sale], about("Sale by channel.")] = {}


class AssemblyFile(Record, frozen=True, kw_only=True):
    """One assembly: assemblies/*.toml."""

    assembly: Annotated[Assembly, about("The assembly itself.")]
    line: Annotated[tuple[Line, ...], about("Lines of the assembly.")] = ()

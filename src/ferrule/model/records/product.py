"""What a product states once: its name, stage, policy, conventions, calendars and roles."""

from __future__ import annotations

import datetime as dt
from functools import partial
from typing import Annotated, Literal

from msgspec import field

from ferrule.model.duration import Duration
from ferrule.model.money import Money
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.records.about import Id, Record, Text, about

__all__ = [
    "STAGES",
    "Calendar",
    "Closure",
    "Conventions",
    "Head",
    "Policy",
    "ProductFile",
    "Role",
    "Severities",
    "Stage",
]

Stage = Literal["prototype", "evt", "dvt", "pvt", "production", "service"]
#: In the order a product goes through them; severity belongs to the stage.
STAGES: tuple[Stage, ...] = ("prototype", "evt", "dvt", "pvt", "production", "service")
Level = Literal["off", "note", "warning", "error"]
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


class Head(Record, frozen=True, kw_only=True):
    """The product itself."""

    id: Annotated[Id, about("Short identifier of the product.", "W20")]
    name: Annotated[Text, about("Name of the product in words.", "Fieldfare W20 sound recorder")]
    currency: Annotated[str, about("Home currency, ISO 4217.", "EUR")]
    stage: Annotated[Stage, about("Where the product stands; it decides which findings block.", "dvt")]
    format: Annotated[Literal[1], about("Version of these file formats.", 1)] = 1
    description: Annotated[str | None, about("One or two sentences for a reader who has never seen it.")] = (
        None
    )
    owner: Annotated[str | None, about("Who answers for the list.", "R. Alder")] = None
    company: Annotated[str | None, about("The company whose product it is.", "Wrenfield Instruments")] = None
    markets: Annotated[
        tuple[str, ...], about("Where it is sold: ISO 3166 country codes, or EU.", ["EU", "GB", "US"])
    ] = ()
    people: Annotated[int | None, about("How many people can approve; 1 logs what it cannot split.", 6)] = (
        None
    )


class Policy(Record, frozen=True, kw_only=True):
    """Limits the rules measure by. Each has a default from common practice; the product's word wins."""

    rate_max_age: Annotated[Duration, about("Oldest exchange rate that still counts.", "14 days")] = field(
        default_factory=partial(Duration.of, "14 days")
    )
    quote_max_age: Annotated[Duration, about("Age from which a quote is stale.", "90 days")] = field(
        default_factory=partial(Duration.of, "90 days")
    )
    stale_quote_share: Annotated[Percent, about("Share of cost that may rest on stale quotes.", "20 %")] = (
        field(default_factory=partial(Percent.of, "20 %"))
    )
    lifecycle_max_age: Annotated[Duration, about("Oldest life-cycle evidence that counts.", "180 days")] = (
        field(default_factory=partial(Duration.of, "180 days"))
    )
    duty_max_age: Annotated[Duration, about("Oldest duty rate that counts.", "30 days")] = field(
        default_factory=partial(Duration.of, "30 days")
    )
    lead_time_deviation: Annotated[
        Percent, about("Accepted gap of quoted to observed lead time.", "30 %")
    ] = field(default_factory=partial(Percent.of, "30 %"))
    order_to_need: Annotated[Count, about("Highest accepted minimum order as a multiple of the need.", 2)] = (
        field(default_factory=partial(Count, 2))
    )
    leftover_share: Annotated[
        Percent, about("Highest accepted leftover, percent of build material.", "5 %")
    ] = field(default_factory=partial(Percent.of, "5 %"))
    leftover_ignored: Annotated[
        Money | None, about("Leftover worth less than this is not reported.", "50 EUR")
    ] = None
    consigned_ignored: Annotated[
        Money | None, about("A consigned part of lower unit value needs no custody record.", "0.05 EUR")
    ] = None
    season_float: Annotated[Duration, about("Least slack before a season date.", "10 working days")] = field(
        default_factory=partial(Duration.of, "10 working days")
    )
    customer_share: Annotated[
        Percent, about("Highest share of receipts from one customer before the trough.", "50 %")
    ] = field(default_factory=partial(Percent.of, "50 %"))
    waiver_renewals: Annotated[
        int, about("Renewals after which a waiver is a design change nobody wrote.", 2)
    ] = 2
    yield_over_seen: Annotated[
        Percent, about("How far a target yield may lie above the best seen.", "2 %")
    ] = field(default_factory=partial(Percent.of, "2 %"))
    commodities: Annotated[
        tuple[str, ...], about("Part classes whose maker need not be known (screws, tape).", ["packaging"])
    ] = ()
    capital_rate: Annotated[Percent | None, about("Yearly cost of capital.", "15 %")] = None
    carrying_rate: Annotated[
        Percent | None, about("Yearly cost of keeping stock, percent of its value.", "18 %")
    ] = None
    secret_words: Annotated[
        tuple[str, ...], about("Words no package for an outsider may contain.", ["Fieldfare"])
    ] = ()
    record_years: Annotated[
        int | None, about("Years to keep the technical file after the last unit.", 10)
    ] = None


class Conventions(Record, frozen=True, kw_only=True):
    """How numbers are meant where practice differs."""

    attrition: Annotated[Literal["add-on", "of-input"], about("D(1+a), or D/(1−a).", "add-on")] = "add-on"
    attrition_floor: Annotated[
        Literal["max", "sum"], about("A percentage with a floor takes the larger, or adds both.", "max")
    ] = "max"
    rounding: Annotated[
        Literal["half-up", "half-even"], about("Rounding of money when it is shown.", "half-up")
    ] = "half-up"
    year_days: Annotated[Literal[360, 365], about("Days of a year in simple rates.", 365)] = 365


class Closure(Record, frozen=True, kw_only=True):
    """Days on which a calendar has no, or reduced, capacity. Both ends are inclusive."""

    name: Annotated[Text, about("Why it is closed.", "Lunar New Year")]
    from_: Annotated[dt.date, about("First day.", "2027-02-01")]
    to: Annotated[dt.date, about("Last day, inclusive.", "2027-02-19")]
    capacity: Annotated[
        Percent,
        about("Capacity left on these days; ramp-down and slow return are closures too.", "0 %", "40 %"),
    ] = field(default_factory=partial(Percent.of, "0 %"))


class Calendar(Record, frozen=True, kw_only=True):
    """Whose days count."""

    name: Annotated[str | None, about("Name in words.", "Port Halden factory")] = None
    weekend: Annotated[
        tuple[Weekday, ...], about("Days of the week that are closed.", ["saturday", "sunday"])
    ] = ("saturday", "sunday")
    country: Annotated[str | None, about("ISO 3166 code whose public holidays are added.", "CN")] = None
    years: Annotated[tuple[int, ...], about("Years for which public holidays are taken.", [2026, 2027])] = ()
    holidays: Annotated[tuple[dt.date, ...], about("Single closed days.", ["2026-12-25"])] = ()
    closures: Annotated[tuple[Closure, ...], about("Longer closures with their capacity.")] = ()
    checked: Annotated[dt.date | None, about("Day the closures were confirmed.", "2026-10-20")] = None
    evidence: Annotated[str | None, about("Where they are written.", "factory notice 2026-10")] = None


class Role(Record, frozen=True, kw_only=True):
    """Who may accept a kind of change."""

    people: Annotated[
        tuple[str, ...], about("Names or e-mail addresses as git shows them.", ["m.tarn@wrenfield.example"])
    ] = ()
    approves: Annotated[
        tuple[Literal["safety", "money", "supplier", "document", "waiver"], ...],
        about("Kinds of change this role approves.", ["safety"]),
    ] = ()


class Severities(Record, frozen=True, kw_only=True):
    """How heavy one rule is at each stage, in place of its own scale. A stage not named keeps the rule's."""

    prototype: Annotated[Level | None, about("At stage prototype.", "off")] = None
    evt: Annotated[Level | None, about("At stage evt.", "warning")] = None
    dvt: Annotated[Level | None, about("At stage dvt.", "error")] = None
    pvt: Annotated[Level | None, about("At stage pvt.", "error")] = None
    production: Annotated[Level | None, about("At stage production.", "error")] = None
    service: Annotated[Level | None, about("At stage service.", "warning")] = None
    reason: Annotated[
        str | None, about("Why this product measures differently.", "no board in this product")
    ] = None


class ProductFile(Record, frozen=True, kw_only=True):
    """The product itself: product.toml."""

    product: Annotated[Head, about("The product itself.")]
    policy: Annotated[Policy, about("Limits the rules measure by.")] = field(default_factory=Policy)
    conventions: Annotated[Conventions, about("How numbers are meant where practice differs.")] = field(
        default_factory=Conventions
    )
    calendar: Annotated[dict[Id, Calendar], about("Calendars by name.")] = {}
    role: Annotated[dict[Id, Role], about("Roles by name.")] = {}
    rule: Annotated[dict[Id, Severities], about("Severities by rule name.")] = {}

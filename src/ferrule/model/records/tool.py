"""Tools and other one-off costs."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from ferrule.model.duration import Duration
from ferrule.model.money import Money
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.records.about import Id, Record, Text, about
from ferrule.model.records.common import Agreement, Document, Leg, Payment

__all__ = ["Maintenance", "Tool", "ToolsFile"]


class Maintenance(Record, frozen=True, kw_only=True):
    """Upkeep of a tool."""

    every: Annotated[Count, about("Shots between services.", 20000)]
    cost: Annotated[Money | None, about("Cost of one service.", "450 USD")] = None
    paid_by: Annotated[Literal["us", "factory"] | None, about("Who pays.", "factory")] = None


class Tool(Record, frozen=True, kw_only=True):
    """Something bought once so that parts can be made, tested or sold."""

    name: Annotated[Text, about("Name in words.", "Mould, housing front and back")]
    kind: Annotated[
        Literal[
            "mould",
            "die",
            "fixture",
            "stencil",
            "programming jig",
            "artwork plate",
            "gauge",
            "certification",
            "engineering",
            "set-up",
            "other",
        ],
        about("What it is.", "mould"),
    ]
    makes: Annotated[tuple[Id, ...], about("Parts it makes or serves.", ["W20-110", "W20-120"])] = ()
    cavities: Annotated[int | None, about("Parts of each in one shot.", 1)] = None
    amount: Annotated[Money | None, about("Price.", "27500 USD")] = None
    schedule: Annotated[
        tuple[Payment, ...],
        about("Instalments; shares add to exactly 100 %.", [{"share": "40 %", "due": "order"}]),
    ] = ()
    firm: Annotated[Id | None, about("Who makes it and is paid.", "harbour")] = None
    owner: Annotated[Id | None, about("Who owns it.", "wrenfield")] = None
    custodian: Annotated[Id | None, about("Who holds it.", "harbour")] = None
    location: Annotated[str | None, about("Where it stands.", "hall 3")] = None
    mark: Annotated[str | None, about("Asset mark on it.", "WREN-T-001")] = None
    agreement: Annotated[Agreement | None, about("Paper on ownership and return.")] = None
    returned_on_demand: Annotated[bool | None, about("Handed over on demand.", True)] = None
    life: Annotated[Count | None, about("Shots it lasts.", 300000)] = None
    used: Annotated[Count | None, about("Shots made so far.", 1200)] = None
    refurbish: Annotated[Money | None, about("Quoted refurbishment at the end of its life.", "6000 USD")] = (
        None
    )
    maintenance: Annotated[Maintenance | None, about("Upkeep.")] = None
    spares: Annotated[tuple[str, ...], about("Spare inserts and pins held.", ["gate insert"])] = ()
    repaired_by: Annotated[
        Literal["us", "factory", "shared"] | None, about("Who pays repair.", "factory")
    ] = None
    amortise_over: Annotated[
        Count | None,
        about(
            "Pieces of what it makes, of the part needed most, that the amount is spread over; 0 spreads nothing.",
            12000,
        ),
    ] = None
    assist: Annotated[
        bool | None, about("Supplied by us free or cheap, so that its share enters customs value.", True)
    ] = None
    soft: Annotated[bool, about("Short-lived prototype tool.", True)] = False
    in_house: Annotated[bool, about("Made and kept by ourselves.", True)] = False
    lead_time: Annotated[
        Duration | None, about("From order to first parts when there are no legs.", "7 weeks")
    ] = None
    leg: Annotated[tuple[Leg, ...], about("Making, sampling, correction, approval.")] = ()
    document: Annotated[
        tuple[Document, ...], about("Drawings frozen by the tool; fixture and program files.")
    ] = ()
    copy_held: Annotated[
        str | None, about("Where a second copy of drawings and programs is kept.", "our repository, tools/")
    ] = None
    quoted: Annotated[dt.date | None, about("Day of the quote.", "2026-09-18")] = None
    valid_until: Annotated[dt.date | None, about("Last day of the quote.", "2026-12-18")] = None
    evidence: Annotated[str | None, about("Where the quote is kept.", "docs/quotes/mould.pdf")] = None
    ordered: Annotated[dt.date | None, about("Day it was ordered.", "2026-09-25")] = None
    approved: Annotated[dt.date | None, about("Day its parts were approved.", "2026-11-20")] = None
    scrap_value: Annotated[Percent | None, about("Value left at the end.", "0 %")] = None


class ToolsFile(Record, frozen=True, kw_only=True):
    """Tools: tools/*.toml."""

    tool: Annotated[dict[Id, Tool], about("Tools by asset number.")]

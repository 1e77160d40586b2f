"""What lies where, what is on order, what was sent to the factory and came back."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from ferrule.model.money import Money
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.records.about import Id, Record, about

__all__ = ["CountsFile", "Made", "Movement", "OpenOrder", "Stock"]


class Stock(Record, frozen=True, kw_only=True):
    """A count of one part at one place."""

    part: Annotated[Id, about("Part number.", "C-100N-0603")]
    place: Annotated[Id, about("Firm that holds it.", "harbour")]
    qty: Annotated[Count, about("Counted, in the part's unit.", 12400)]
    status: Annotated[
        Literal["usable", "quarantined", "allocated"], about("What it may be used for.", "usable")
    ] = "usable"
    ours: Annotated[bool, about("Owned by us, wherever it lies.", True)] = True
    counted: Annotated[dt.date, about("Day of the count.", "2026-11-16")]
    counted_by: Annotated[str | None, about("Who counted.", "K. Reed")] = None
    value: Annotated[Money | None, about("Value of one; this order's price when not said.", "0.0058 USD")] = (
        None
    )
    lot: Annotated[str | None, about("Maker's lot or date code.", "2634")] = None
    expires: Annotated[dt.date | None, about("End of its shelf life.", "2027-05-31")] = None


class OpenOrder(Record, frozen=True, kw_only=True):
    """A purchase order not yet delivered."""

    id: Annotated[str, about("Order number.", "PO-26-031")]
    part: Annotated[Id, about("Part number.", "U-MCU")]
    seller: Annotated[Id, about("Firm ordered from.", "norholt")]
    qty: Annotated[Count, about("Still to come.", 2000)]
    ordered: Annotated[dt.date | None, about("Day of the order.", "2026-10-12")] = None
    due: Annotated[dt.date | None, about("Promised day.", "2027-01-11")] = None
    each: Annotated[Money | None, about("Price of one.", "2.86 USD")] = None
    ncnr: Annotated[
        bool | None, about("Non-cancellable, non-returnable; the source's when not said.", True)
    ] = None
    paid: Annotated[Percent | None, about("Paid so far.", "30 %")] = None
    place: Annotated[Id | None, about("Where it goes.", "harbour")] = None


class Movement(Record, frozen=True, kw_only=True):
    """A consigned part on its way."""

    part: Annotated[Id, about("Part number.", "U-MCU")]
    custodian: Annotated[Id, about("Firm it goes to or comes from.", "harbour")]
    kind: Annotated[
        Literal[
            "issued", "received", "returned", "counted", "scrap with carcass", "scrap claimed", "in process"
        ],
        about("What happened.", "issued"),
    ]
    qty: Annotated[Count, about("Pieces.", 500)]
    date: Annotated[dt.date, about("Day.", "2026-10-06")]
    lot: Annotated[str | None, about("Sealed lot.", "S-0007")] = None
    identities: Annotated[Count | None, about("Identities issued or seen with them.", 500)] = None
    reference: Annotated[str | None, about("Paper that proves it.", "waybill 88-1204")] = None


class Made(Record, frozen=True, kw_only=True):
    """Units a factory reported or shipped."""

    sku: Annotated[Id, about("What was made (a SKU or assembly).", "W20-300")]
    factory: Annotated[Id, about("Where.", "harbour")]
    good: Annotated[Count, about("Good units.", 58)]
    in_process: Annotated[Count | None, about("Units begun, not finished.", 4)] = None
    date: Annotated[dt.date, about("Day of the report.", "2026-11-13")]
    build: Annotated[Id | None, about("Build of the plan.", "evt")] = None
    identities: Annotated[Count | None, about("Identities seen on them.", 58)] = None


class CountsFile(Record, frozen=True, kw_only=True):
    """Stock, orders and movements: counts/*.toml."""

    stock: Annotated[tuple[Stock, ...], about("Counts.")] = ()
    order: Annotated[tuple[OpenOrder, ...], about("Purchase orders not yet delivered.")] = ()
    movement: Annotated[
        tuple[Movement, ...], about("Consigned parts issued, returned, counted, scrapped.")
    ] = ()
    made: Annotated[tuple[Made, ...], about("Units made.")] = ()

"""Facts that several kinds of record carry."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from ferrule.model.due import Due
from ferrule.model.duration import Duration
from ferrule.model.money import Money
from ferrule.model.number import Count
from ferrule.model.percent import Percent
from ferrule.model.records.about import Id, Record, Text, about
from ferrule.model.shares import Share

__all__ = ["Agreement", "Charge", "Document", "Leg", "Markup", "Payment", "Tier"]


class Document(Record, frozen=True, kw_only=True):
    """A file that says what to build or proves a fact, by name and by content."""

    kind: Annotated[
        Literal[
            "drawing",
            "board",
            "panel",
            "stencil",
            "artwork",
            "model",
            "specification",
            "instruction",
            "firmware",
            "test program",
            "certificate",
            "statement",
            "report",
            "agreement",
            "quote",
            "quality plan",
        ],
        about("What the document is.", "drawing"),
    ]
    file: Annotated[
        Text, about("Path inside the product folder, with / between folders.", "docs/W20-110.pdf")
    ]
    rev: Annotated[str | None, about("Revision letter or number of the document.", "B")] = None
    sha256: Annotated[
        str | None,
        about(
            "SHA-256 of the content that was approved; a file that differs is a finding.", "e3b0c44298fc1c14"
        ),
    ] = None
    approved_by: Annotated[str | None, about("Who approved this content.", "M. Tarn")] = None
    approved: Annotated[dt.date | None, about("Day of the approval.", "2026-09-14")] = None
    market: Annotated[
        tuple[str, ...], about("Markets (ISO 3166 codes or EU) the document speaks for.", ["EU"])
    ] = ()


class Leg(Record, frozen=True, kw_only=True):
    """One stretch of time with an owner whose calendar counts it."""

    name: Annotated[Text, about("What happens in this leg.", "sea carriage", "sampling")]
    owner: Annotated[
        Literal["seller", "factory", "port", "carrier", "customs", "customer", "us"],
        about("Whose calendar the leg runs in when no calendar is named.", "carrier"),
    ] = "us"
    calendar: Annotated[
        Id | None, about("Named calendar of product.toml, before the owner's.", "factory-south")
    ] = None
    best: Annotated[Duration | None, about("Shortest time seen or promised.", "24 days")] = None
    likely: Annotated[Duration | None, about("Time to plan cash on.", "30 days")] = None
    worst: Annotated[Duration | None, about("Time to plan the season on.", "41 days")] = None
    step: Annotated[str | None, about("Step the leg must be finished before.", "place and solder")] = None
    loops: Annotated[
        int | None, about("How often the leg is likely to be run through (correction loops).", 2)
    ] = None
    open_days: Annotated[
        bool, about("Deliver on open days: a finish on a closed day moves to the next open one.", True)
    ] = False


class Tier(Record, frozen=True, kw_only=True):
    """A price that holds from a build quantity on. Follows units built; cannot be bought up."""

    from_: Annotated[Count, about("Smallest build quantity this price holds for.", 1000)]
    each: Annotated[Money, about("Price of one at this quantity.", 3.1)]


class Payment(Record, frozen=True, kw_only=True):
    """One instalment of an obligation: which share, on which event plus lag."""

    share: Annotated[
        Share, about("Percent of the amount, `rest`, or an amount per unit.", "30 %", "2.40 USD per unit")
    ]
    due: Annotated[
        Due, about("Event and lag that make it due.", "order", "shipment + 30 days", "end of month + 30 days")
    ]
    discount: Annotated[Percent | None, about("Taken off when paid within `discount_within`.", "2 %")] = None
    discount_within: Annotated[
        Duration | None, about("Days after the event for the early-payment discount.", "10 days")
    ] = None


class Charge(Record, frozen=True, kw_only=True):
    """Money asked beside the price."""

    name: Annotated[Text, about("What is charged.", "inbound freight", "reel set-up")]
    amount: Annotated[Money, about("How much, in the stated currency or that of the record.", 45, "45 USD")]
    per: Annotated[
        Literal[
            "one-off",
            "order",
            "build",
            "shipment",
            "entry",
            "pallet",
            "carton",
            "container",
            "unit",
            "pack",
            "kg",
            "m3",
        ],
        about("What the amount is charged for each time.", "order"),
    ]
    minimum: Annotated[Money | None, about("Least amount charged each time.", 60)] = None
    covers: Annotated[
        Literal["origin haul", "export", "loading", "carriage", "arrival", "import", "delivery"] | None,
        about("Which stretch of the way it pays for; carriage when not said.", "arrival"),
    ] = None


class Markup(Record, frozen=True, kw_only=True):
    """A percentage on a declared base."""

    name: Annotated[Text, about("What the factory calls it.", "material handling")]
    rate: Annotated[Percent, about("Percent on the base.", "8 %")]
    base: Annotated[
        tuple[
            Literal[
                "labour", "test", "turnkey material", "consigned material", "packaging", "tooling", "all"
            ],
            ...,
        ],
        about("What it is charged on; never assumed.", ["labour", "turnkey material"]),
    ] = ()


class Agreement(Record, frozen=True, kw_only=True):
    """A signed paper that a fact rests on. Recorded, never interpreted."""

    title: Annotated[Text, about("What the paper is.", "Tool ownership agreement, signed")]
    file: Annotated[str | None, about("Path inside the product folder.", "docs/agreements/tools.pdf")] = None
    sha256: Annotated[str | None, about("SHA-256 of the file's content.", "e3b0c44298fc1c14")] = None
    signed: Annotated[dt.date | None, about("Day of the signature.", "2026-08-03")] = None
    valid_until: Annotated[dt.date | None, about("Last day it holds.", "2029-08-02")] = None
